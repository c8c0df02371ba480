//! What the tests of sharing need: keys, procedures and packs made of texts.

use serde_json::{Value, json};
use sha2::{Digest, Sha256};

use crate::procedure::{Program, Source};
use crate::share::{OwnKey, Pack, signed_bytes};

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
