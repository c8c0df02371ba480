//! Procedures with one planted fault each, `tests/cases/KIND/NAME.rhai`, and what proofreading says
//! of them, `NAME.txt`.
//!
//! Run with `SPOOLPROOF_WRITE_CASES=1` to write the texts anew, then read the difference.

use std::fs;
use std::path::{Path, PathBuf};

use crate::procedure::Source;
use crate::proofread::{Report, proofread};
use crate::tests::support::files;

fn cases() -> Vec<PathBuf> {
    files("tests/cases", "rhai")
}

fn report(path: &Path) -> Report {
    proofread(Source::from_path(path).expect("a readable case"))
}

#[test]
fn each_planted_fault_is_found_and_explained() {
    let is_written = std::env::var_os("SPOOLPROOF_WRITE_CASES").is_some();
    let mut wrong = Vec::new();
    for path in cases() {
        let report = report(&path);
        let found = format!("{}\n", report.text());
        let golden = path.with_extension("txt");
        if is_written {
            fs::write(&golden, &found).expect("a writable case");
        }
        let expected = fs::read_to_string(&golden).unwrap_or_default();
        if report.faults.is_empty() || found != expected {
            wrong.push(format!("{}:\n{found}", path.display()));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn there_are_forty_planted_faults_and_more_each_of_its_own_kind() {
    let mut kinds: Vec<_> = cases()
        .iter()
        .map(|path| fs::read_to_string(path).expect("a case").lines().next().unwrap_or_default().to_owned())
        .collect();
    let n = kinds.len();
    kinds.sort();
    kinds.dedup();
    assert_eq!(kinds.len(), n, "two cases plant the same fault");
    assert!(n >= 40, "{n} cases");
    assert!(kinds.iter().all(|kind| kind.starts_with("// Planted: ")), "{kinds:?}");
}

#[test]
fn no_text_of_a_case_is_left_without_its_case() {
    for golden in files("tests/cases", "txt") {
        assert!(golden.with_extension("rhai").exists(), "{}", golden.display());
    }
}
