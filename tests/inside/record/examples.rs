//! The examples are what the program makes of them.

use crate::tests::support::scripted;

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use crate::record::audit_file;
use scripted::leave_out;
use serde_json::Value;

const FLARE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/flare-2-3");

/// The one record in a folder.
fn record_in(folder: &Path) -> PathBuf {
    let mut files = std::fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("a file").path());
    files.find(|path| path.extension().is_some_and(|end| end == "json")).expect("a record")
}

fn read(path: &Path) -> Value {
    serde_json::from_slice(&std::fs::read(path).expect("a file")).expect("a document")
}

/// What differs from one session to the next, and what is sealed over it.
const TIMES: [&str; 6] = ["session", "started", "finished", "at", "digest", "program"];

/// To renew the record after a field was added: walk it again as this test does, and put what is kept in its place.
#[test]
fn the_flare_is_walked_as_its_answers_say_and_leaves_its_record() {
    let shop = tempfile::tempdir().expect("a folder");
    let status = Command::new(crate::tests::support::binary::spoolproof())
        .args(["--shop".as_ref(), shop.path().as_os_str()])
        .args(["guide", "tarn-t6-lower", "--complaint", "flare 2-3", "--answers"])
        .arg(Path::new(FLARE).join("answers.txt"))
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .status();
    assert!(status.expect("the program").success());
    let mut made = read(&record_in(&shop.path().join("records")));
    let mut kept = read(&record_in(Path::new(FLARE)));
    leave_out(&mut made, &TIMES);
    leave_out(&mut kept, &TIMES);
    assert!(made == kept, "the record in the example is not what its answers lead to");
}

#[test]
fn the_record_of_the_flare_is_in_order() {
    let audit = audit_file(&record_in(Path::new(FLARE))).expect("a file");
    assert!(audit.is_in_order(), "{audit:?}");
}
