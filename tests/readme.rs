//! The README's commands do what it says.

use std::process::Command;

const README: &str = include_str!("../README.md");

/// Returns the words behind a marker on every line of the README that begins with it.
fn commands(marker: &str) -> Vec<Vec<&'static str>> {
    let lines = README.lines().map(str::trim).filter_map(|line| line.strip_prefix(marker));
    lines.map(|rest| rest.split_whitespace().collect()).collect()
}

#[test]
fn the_first_command_walks_a_procedure_and_says_where_its_record_is() {
    let found = commands("cargo run -- ");
    assert_eq!(found, [["rehearse"]], "the README begins with one command");
    let home = tempfile::tempdir().unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_spoolproof"))
        .env_clear()
        .env("HOME", home.path())
        .args(&found[0])
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(text.lines().last().unwrap_or_default().contains(".json"), "{text}");
}

#[test]
fn every_command_that_the_readme_names_is_known() {
    for rest in README.split("`spoolproof ").skip(1) {
        let line = rest.split('`').next().unwrap_or_default();
        let command = line.split_whitespace().next().unwrap_or_default();
        let output =
            Command::new(env!("CARGO_BIN_EXE_spoolproof")).args([command, "--help"]).output().unwrap();
        assert!(output.status.success(), "spoolproof {line}");
    }
}
