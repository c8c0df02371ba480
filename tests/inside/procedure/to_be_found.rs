//! Circuits whose limits are to be found: they are read, recorded and not judged, and every command can live with that.

use crate::leak::Verdict;
use crate::procedure::Severity;
use crate::proofread::{proofread, worksheet};
use crate::tests::support::{Home, compiled, source};
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

/// A session at the bench: both circuits read 21 inHg.
fn guided() -> (Home, String) {
    let home = Home::with("feeds.rhai", SCRIPT);
    let answers = "Ana\n29.92 inHg\n20 C\nok\n25\n5\n22.5\n21\n\n21\n25\n5\n";
    let text = home.run(&["guide", "feeds.rhai"], answers).exits(0).out;
    (home, text)
}

#[test]
fn the_session_guides_reads_twice_and_gives_no_verdict() {
    let (home, text) = guided();
    let record = home.record();
    assert!(text.contains("Its limits are to be found"), "{text}");
    assert!(text.contains("not judged: standard reading"), "{text}");
    assert!(text.contains("found  It was not judged."), "{text}");
    let open = &record.circuits[1];
    assert_eq!(open.verdict, Some(Verdict::Unjudged));
    let reading = &open.readings[0];
    assert_eq!((reading.takes.len(), reading.judgement), (2, None));
    assert!(reading.limits_here.is_none() && open.circuit.limits.is_none());
    // The leak is worked out as that of any circuit.
    let meaning = reading.meaning.as_ref().unwrap();
    assert!(meaning.relative_leak.value > 0.1 && meaning.hole_m.value > 0.0);
    assert_eq!((record.summary.holds, record.summary.not_judged, record.summary.not_tested), (1, 1, 0));
    assert!(record.decisions.is_empty());
}

#[test]
fn the_record_is_audited_shown_reported_exported_and_indexed() {
    let (home, _) = guided();
    let record = home.record();
    let name = record.session.as_str();
    home.done(&["records", "audit", name]);
    home.says(&["records", "show", name], "not judged");
    let report = home.done(&["report", name]);
    assert!(report.contains("NOT JUDGED") && report.contains("Read and not judged"), "{report}");
    home.done(&["report", name, "--html", "page.html"]);
    assert!(home.read("page.html").contains("not judged"));
    let lines = home.run(&["records", "export", "--format", "jsonl"], "").exits(0).out;
    let row: Value = serde_json::from_str(lines.lines().last().unwrap()).unwrap();
    assert_eq!((&row["verdict"], &row["upper_limit_inHg"]), (&Value::from("not judged"), &Value::Null));
    let failing = home.json(&["history", "failing"]);
    let rows = failing["tables"][0]["rows"].as_array().unwrap();
    let open = rows.iter().find(|row| row["circuit"] == "open").unwrap();
    assert_eq!((&open["tested"], &open["not judged"]), (&Value::from(0), &Value::from(1)));
    // A single changed digit of what was read is noticed as in any record.
    let path = &home.records()[0];
    let altered =
        std::fs::read_to_string(path).unwrap().replacen("\"entry\":\"21 inHg\"", "\"entry\":\"22 inHg\"", 1);
    std::fs::write(path, altered).unwrap();
    home.refused(1, &["records", "audit", name]);
}

#[test]
fn proofreading_remarks_on_it_and_finds_no_error() {
    let report = proofread(source(SCRIPT));
    assert!(report.is_sound(), "{}", report.text());
    let remarks: Vec<_> = report.of_severity(Severity::Warning).collect();
    assert_eq!(remarks.len(), 1, "{}", report.text());
    assert!(remarks[0].fault.message.contains("the limits of \"open\" are to be found"));
    let form = worksheet(&compiled(SCRIPT), None).0;
    assert!(form.contains("Limits to be found"), "{form}");
}

#[test]
fn a_rehearsal_walks_it_and_refuses_a_leak_of_a_circuit_that_is_not_there() {
    let home = Home::with("feeds.rhai", SCRIPT);
    home.done(&["rehearse", "feeds.rhai", "--leak", "open=0.02in"]);
    let said = home.refused(2, &["rehearse", "feeds.rhai", "--leak", "opne=0.02in"]);
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
        let report = proofread(source(&script));
        assert!(!report.is_sound() && report.text().contains(told), "{keys}: {}", report.text());
    }
}
