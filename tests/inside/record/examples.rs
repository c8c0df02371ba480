//! The examples are what the program makes of them.

use std::path::{Path, PathBuf};

use crate::record::read;
use crate::session::Auditor;
use crate::tests::support::{Home, leave_out, records_in};

const FLARE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/flare-2-3");

/// The record that is kept beside the answers.
fn kept() -> PathBuf {
    records_in(Path::new(FLARE)).swap_remove(0)
}

/// What differs from one session to the next, and what is sealed over it.
const TIMES: [&str; 6] = ["session", "started", "finished", "at", "digest", "program"];

/// To renew the record after a field was added: walk it again as this test does, and put what is kept in its place.
#[test]
fn the_flare_is_walked_as_its_answers_say_and_leaves_its_record() {
    let home = Home::new();
    let answers = format!("{FLARE}/answers.txt");
    home.done(&["guide", "osier-o7-rear", "--complaint", "flare 2-3", "--answers", &answers]);
    let mut made = serde_json::to_value(home.record()).expect("a document");
    let kept = read(&kept()).expect("a record");
    let mut kept = serde_json::to_value(kept).expect("a document");
    leave_out(&mut made, &TIMES);
    leave_out(&mut kept, &TIMES);
    assert!(made == kept, "the record in the example is not what its answers lead to");
}

#[test]
fn what_was_read_stands_where_the_readme_looks_for_it() {
    let readme =
        std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/README.md")).expect("the README");
    assert!(readme.contains("$r.journal[.event - 1].answer.quantity.entry"));
    let record: serde_json::Value =
        serde_json::from_slice(&std::fs::read(kept()).expect("a record")).expect("a document");
    let circuits = record["circuits"].as_array().expect("circuits").iter();
    let readings = circuits.flat_map(|circuit| circuit["readings"].as_array().into_iter().flatten());
    let takes: Vec<_> = readings.flat_map(|reading| reading["takes"].as_array().expect("takes")).collect();
    assert!(!takes.is_empty());
    for take in takes {
        let event = take["event"].as_u64().expect("a number") as usize;
        let entry = &record["journal"][event - 1]["answer"]["quantity"]["entry"];
        assert!(entry.as_str().is_some_and(|entry| entry.ends_with("inHg")), "{take}");
    }
}

#[test]
fn the_record_of_the_flare_is_in_order() {
    let audit = Auditor::default().audit_file(&kept()).expect("a file");
    assert!(audit.is_in_order(), "{audit:?}");
}

/// The report of the flare, as the program tells it; to renew it, run this test with `SPOOLPROOF_WRITE_DOCS=1`.
#[test]
fn the_report_of_the_flare_is_what_its_record_comes_to() {
    let (place, home) = (format!("{FLARE}/report.txt"), Home::new());
    let told = home.run(&["report", &kept().display().to_string()], "").exits(0).out;
    if std::env::var_os("SPOOLPROOF_WRITE_DOCS").is_some() {
        std::fs::write(&place, &told).expect("a file");
    }
    assert_eq!(std::fs::read_to_string(&place).expect("a file"), told);
}
