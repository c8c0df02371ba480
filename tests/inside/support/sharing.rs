//! What the tests of sharing need: shops that run the program, and keys, programs and packs made of texts.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::{Value, json};
use sha2::{Digest, Sha256};

use crate::procedure::{Program, Source};
use crate::share::{OwnKey, Pack, signed_bytes};

/// A shop in a folder of its own, with a working folder beside it.
pub(crate) struct TestShop(tempfile::TempDir);

/// What a run of the program gave.
pub(crate) struct Ran {
    pub(crate) status: i32,
    pub(crate) shown: String,
    pub(crate) error: String,
}

impl TestShop {
    pub(crate) fn new() -> TestShop {
        TestShop(tempfile::tempdir().unwrap())
    }

    /// The folder of the shop.
    pub(crate) fn shop(&self) -> PathBuf {
        self.0.path().join("shop")
    }

    /// The folder that commands run in.
    pub(crate) fn folder(&self) -> &Path {
        self.0.path()
    }

    /// Writes a file into the working folder.
    pub(crate) fn write(&self, name: &str, text: impl AsRef<[u8]>) -> PathBuf {
        let path = self.0.path().join(name);
        std::fs::write(&path, text).unwrap();
        path
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    /// Runs the program; nobody sits at it.
    pub(crate) fn run<S: AsRef<std::ffi::OsStr>>(&self, arguments: &[S]) -> Ran {
        let output: Output = Command::new(crate::tests::support::binary::spoolproof())
            .arg("--shop")
            .arg(self.shop())
            .args(arguments)
            .current_dir(self.folder())
            .env_clear()
            .env("LC_ALL", "C.UTF-8")
            .stdin(std::process::Stdio::null())
            .output()
            .unwrap();
        Ran {
            status: output.status.code().unwrap_or(-1),
            shown: String::from_utf8(output.stdout).unwrap(),
            error: String::from_utf8(output.stderr).unwrap(),
        }
    }

    /// Runs the program, which must succeed; returns what it showed in one line.
    #[track_caller]
    pub(crate) fn done<S: AsRef<std::ffi::OsStr>>(&self, arguments: &[S]) -> String {
        let ran = self.run(arguments);
        assert_eq!(ran.status, 0, "{}{}", ran.shown, ran.error);
        flat(&ran.shown)
    }

    /// Runs the program, which must refuse with this status; returns what it said in one line.
    #[track_caller]
    pub(crate) fn refused<S: AsRef<std::ffi::OsStr>>(&self, status: i32, arguments: &[S]) -> String {
        let ran = self.run(arguments);
        assert_eq!(ran.status, status, "{}{}", ran.shown, ran.error);
        flat(&ran.error)
    }

    /// Runs the program with `--json` behind; returns its document.
    #[track_caller]
    pub(crate) fn json<S: AsRef<std::ffi::OsStr>>(&self, arguments: &[S]) -> Value {
        let mut arguments: Vec<_> = arguments.iter().map(|a| a.as_ref().to_owned()).collect();
        arguments.push("--json".into());
        let ran = self.run(&arguments);
        serde_json::from_str(&ran.shown).unwrap_or_else(|error| panic!("{error}: {}{}", ran.shown, ran.error))
    }

    /// The fingerprint of the shop's key.
    pub(crate) fn fingerprint(&self) -> String {
        self.json(&["trust", "list"])["own"]["fingerprint"].as_str().unwrap().to_owned()
    }
}

/// A text in one line, without its breaks.
pub(crate) fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// An invented procedure with one circuit.
pub(crate) fn brook(version: &str) -> String {
    format!(
        "procedure(#{{ title: \"Brook B2, pump body\", unit: \"Brook B2\", version: \"{version}\" }});\n\
         caution(\"The pump's suction holds whatever closes the hose.\");\n\
         let feed = circuit(#{{ name: \"boost feed\", port: \"2\", holds: 20.inHg, leaks: 15.inHg }});\n\
         test(feed);\n"
    )
}

/// Compiles a procedure of these files, its own first.
pub(crate) fn program(id: &str, files: &[(&str, &str)]) -> Program {
    let files = files.iter().map(|(name, text)| ((*name).to_owned(), text.as_bytes().to_vec()));
    Program::compile(Source::from_files(id, files).unwrap()).unwrap()
}

/// A signer whose key is made of a number.
pub(crate) fn signer(name: &str, number: u8) -> OwnKey {
    OwnKey::from_secret(name, [number; 32]).unwrap()
}

/// A small pack.
pub(crate) fn small_pack() -> Pack {
    let program = program("brook-b2", &[("brook-b2.rhai", &brook("1.0.0"))]);
    Pack::make(&program, &signer("North Bench", 1)).unwrap()
}

/// Signs a document whatever is in it, as an attacker can who has a key of their own.
pub(crate) fn sign(mut document: Value, own: &OwnKey) -> Value {
    document["signer"] = serde_json::to_value(own.signer()).unwrap();
    document["signature"] = Value::from(own.sign(&signed_bytes(&document).unwrap()));
    document
}

/// A file of a pack as a document.
pub(crate) fn file(name: &str, text: &str) -> Value {
    let sha256: String = Sha256::digest(text).iter().map(|byte| format!("{byte:02x}")).collect();
    json!({ "name": name, "sha256": sha256, "lines": text.split('\n').collect::<Vec<_>>() })
}
