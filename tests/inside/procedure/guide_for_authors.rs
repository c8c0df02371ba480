//! The author's guide, procedures/README.md: its list of words is the program's own, and its examples work.
//!
//! Run with `SPOOLPROOF_WRITE_DOCS=1` to write the list and the definitions anew.

use std::fs;
use std::path::{Path, PathBuf};

use super::page_of_words::{definitions, word_list};
use crate::proofread::proofread;
use crate::tests::support::source;

const BEGIN: &str = "<!-- words begin -->\n";
const END: &str = "<!-- words end -->\n";

fn file(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("procedures").join(name)
}

fn is_written() -> bool {
    std::env::var_os("SPOOLPROOF_WRITE_DOCS").is_some()
}

fn guide() -> String {
    fs::read_to_string(file("README.md")).expect("the guide")
}

#[test]
fn its_list_of_words_is_the_one_that_the_program_knows() {
    let text = guide();
    let (before, rest) = text.split_once(BEGIN).expect("a place for the words");
    let (_, after) = rest.split_once(END).expect("an end of the words");
    let expected = format!("{before}{BEGIN}\n{}\n{END}{after}", word_list().trim_end());
    if is_written() {
        fs::write(file("README.md"), &expected).expect("a writable guide");
    }
    assert!(guide() == expected, "the list is stale; run this test with SPOOLPROOF_WRITE_DOCS=1");
}

#[test]
fn the_definitions_for_editors_are_those_of_the_program() {
    if is_written() {
        fs::write(file("spoolproof.d.rhai"), definitions()).expect("a writable file");
    }
    let found = fs::read_to_string(file("spoolproof.d.rhai")).unwrap_or_default();
    assert!(found == definitions(), "the definitions are stale; run this test with SPOOLPROOF_WRITE_DOCS=1");
}

#[test]
fn each_of_its_examples_is_proofread_clean() {
    let text = guide();
    let examples: Vec<_> =
        text.split("```rhai\n").skip(1).filter_map(|rest| rest.split("```").next()).collect();
    assert!(examples.len() >= 5, "{} examples", examples.len());
    for example in examples {
        let report = proofread(source(example));
        assert!(report.faults.is_empty(), "{}\n{example}", report.text());
        assert!(example.lines().all(|line| line.chars().count() <= 80), "{example}");
    }
}
