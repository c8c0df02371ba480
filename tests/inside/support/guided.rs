//! What several tests need: records made by the program itself.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// An invented unit with one circuit.
pub(crate) const ONE_CIRCUIT: &str = r#"
procedure(#{ title: "Merle M2, feed", unit: "Merle M2", version: "1.0.0" });
let feed = circuit(#{ name: "feed", holds: 20.inHg, leaks: 15.inHg });
test(feed);
"#;

/// Answers to [`ONE_CIRCUIT`].
pub(crate) const ONE_CIRCUIT_ANSWERS: &str = "Ana\n29.92 inHg\n25\n5\n22\n25\n5\n";

/// Walks a procedure with answers at a bench and returns the record's file.
pub(crate) fn guided(shop: &Path, procedure: &str, answers: &str) -> PathBuf {
    let script = shop.join("merle-m2.rhai");
    std::fs::write(&script, procedure).unwrap();
    let mut child = Command::new(crate::tests::support::binary::spoolproof())
        .args(["--shop".as_ref(), shop.as_os_str(), "guide".as_ref(), script.as_os_str()])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(answers.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stdout));
    let mut records: Vec<_> =
        std::fs::read_dir(shop.join("records")).unwrap().map(|entry| entry.unwrap().path()).collect();
    records.sort();
    records.pop().unwrap()
}
