//! Circuits whose limits are to be found: they are read, recorded and not judged, and every command can live with that.

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use crate::leak::Verdict;
use crate::procedure::{Severity, Source};
use crate::proofread::{proofread, worksheet};
use crate::record::{Record, read};
use serde_json::Value;

const SCRIPT: &str = r#"procedure(#{ title: "Merle M2 feeds", unit: "Merle M2", version: "1.0.0" });
caution("The hose holds on to what closes it. Keep fingers and eyes away.");
test(circuit(#{ name: "known", holds: 20.inHg, leaks: 15.inHg }));
let open = circuit(#{ name: "open", port: "4", limits: "to be found" });
test(open, |t| {
    let r = t.read();
    if !(r.holds || r.worn || r.leaks || r.retest) { t.finding("It was " + r.verdict + "."); }
});
"#;

fn run(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(crate::tests::support::binary::spoolproof())
        .arg("--shop")
        .arg(folder.join("shop"))
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

fn out(folder: &Path, arguments: &[&str]) -> String {
    let output = run(folder, arguments);
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(output.status.success(), "{arguments:?}: {text}{}", String::from_utf8_lossy(&output.stderr));
    text
}

/// A session at the bench: both circuits read 21 inHg.
fn guided(folder: &Path) -> (String, PathBuf, Record) {
    std::fs::write(folder.join("feeds.rhai"), SCRIPT).unwrap();
    let answers = "Ana\n29.92 inHg\n25\n5\nok\n22.5\n21\n\n21\n25\n5\n";
    std::fs::write(folder.join("answers.txt"), answers).unwrap();
    let text = out(folder, &["guide", "feeds.rhai", "--answers", "answers.txt"]);
    let records = std::fs::read_dir(folder.join("shop/records")).unwrap();
    let path = records.map(|entry| entry.unwrap().path()).find(|path| path.extension().is_some()).unwrap();
    let record = read(&path).unwrap();
    (text, path, record)
}

#[test]
fn the_session_guides_reads_twice_and_gives_no_verdict() {
    let folder = tempfile::tempdir().unwrap();
    let (text, _, record) = guided(folder.path());
    assert!(text.contains("Its limits are to be found"), "{text}");
    assert!(text.contains("not judged: standard reading"), "{text}");
    assert!(text.contains("found  It was not judged."), "{text}");
    let open = &record.circuits[1];
    assert_eq!(open.verdict, Some(Verdict::Unjudged));
    let reading = &open.readings[0];
    assert_eq!((reading.takes.len(), reading.judgement), (2, None));
    assert!(reading.limits_here.is_none() && open.circuit.limits.is_none());
    // The leak is worked out as that of any circuit.
    assert!(reading.meaning.relative_leak.value > 0.1 && reading.meaning.hole_m.value > 0.0);
    assert_eq!((record.summary.holds, record.summary.not_judged, record.summary.not_tested), (1, 1, 0));
    assert!(record.decisions.is_empty());
}

#[test]
fn the_record_is_audited_shown_reported_exported_and_indexed() {
    let folder = tempfile::tempdir().unwrap();
    let (_, path, record) = guided(folder.path());
    let name = record.session.as_str();
    out(folder.path(), &["records", "audit", name]);
    assert!(out(folder.path(), &["records", "show", name]).contains("not judged"));
    let report = out(folder.path(), &["records", "report", name]);
    assert!(report.contains("NOT JUDGED") && report.contains("Read and not judged"), "{report}");
    let page = folder.path().join("page.html");
    out(folder.path(), &["records", "report", name, "--html", page.to_str().unwrap()]);
    assert!(std::fs::read_to_string(page).unwrap().contains("not judged"));
    let lines = out(folder.path(), &["records", "export", "--format", "jsonl"]);
    let row: Value = serde_json::from_str(lines.lines().last().unwrap()).unwrap();
    assert_eq!((&row["verdict"], &row["holds_from_inHg"]), (&Value::from("not judged"), &Value::Null));
    let failing = out(folder.path(), &["history", "failing", "--json"]);
    let failing: Value = serde_json::from_str(&failing).unwrap();
    let rows = failing["tables"][0]["rows"].as_array().unwrap();
    let open = rows.iter().find(|row| row["circuit"] == "open").unwrap();
    assert_eq!((&open["tested"], &open["not judged"]), (&Value::from(0), &Value::from(1)));
    // A single changed digit of what was read is noticed as in any record.
    let altered =
        std::fs::read_to_string(&path).unwrap().replacen("\"entered\": \"21\"", "\"entered\": \"22\"", 1);
    std::fs::write(&path, altered).unwrap();
    assert_eq!(run(folder.path(), &["records", "audit", name]).status.code(), Some(1));
}

#[test]
fn proofreading_remarks_on_it_and_finds_no_error() {
    let source =
        || Source::from_files("feeds", [("feeds.rhai".to_owned(), SCRIPT.as_bytes().to_vec())]).unwrap();
    let report = proofread(source());
    assert!(report.is_sound(), "{}", report.text());
    let remarks: Vec<_> = report.of_severity(Severity::Warning).collect();
    assert_eq!(remarks.len(), 1, "{}", report.text());
    assert!(remarks[0].fault.message.contains("the limits of \"open\" are to be found"));
    let form = worksheet(&crate::procedure::Program::compile(source()).unwrap());
    assert!(form.contains("Limits to be found"), "{form}");
}

#[test]
fn a_rehearsal_walks_it_and_refuses_a_leak_of_a_circuit_that_is_not_there() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("feeds.rhai"), SCRIPT).unwrap();
    out(folder.path(), &["rehearse", "feeds.rhai", "--leak", "open=0.02in"]);
    let output = run(folder.path(), &["rehearse", "feeds.rhai", "--leak", "opne=0.02in"]);
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.contains("no circuit \"opne\"") && said.contains("Did you mean \"open\"?"), "{said}");
}

#[test]
fn limits_that_are_known_and_to_be_found_at_once_are_an_error() {
    for (keys, told) in [
        ("limits: \"to be found\", holds: 20.inHg", "limits are to be found, and given as well"),
        ("limits: \"unknown\"", "limits of circuit is not \"unknown\""),
        ("limits: 20.inHg", "limits of circuit is a text"),
        ("holds: 20.inHg", "circuit needs leaks"),
        ("means: \"It slips.\"", "circuit needs holds"),
    ] {
        let script = SCRIPT.replace("limits: \"to be found\"", keys);
        let source = Source::from_files("feeds", [("feeds.rhai".to_owned(), script.into_bytes())]).unwrap();
        let report = proofread(source);
        assert!(!report.is_sound() && report.text().contains(told), "{keys}: {}", report.text());
    }
}
