//! Drafts: whatever is answered, what is written is a procedure without errors, and no file is ever written over.
#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use spoolproof::draft::{
    Body, Draft, DraftCircuit, DraftLimits, Feature, cleaned, earlier, file_name, listed,
};
use spoolproof::leak::{Baseline, Land, Limits, Promise};
use spoolproof::procedure::{Program, SHIPPED, Source, is_plain_name};
use spoolproof::proofread::{Report, proofread};
use spoolproof::quantity::{INCH_OF_MERCURY, Length, Pressure, UNITS, Unit};
use spoolproof::record::Repair;

fn inhg(value: f64) -> Pressure {
    Pressure::constant(value * INCH_OF_MERCURY)
}

fn proofread_text(text: &str) -> Report {
    let files = [("draft.rhai".to_owned(), text.as_bytes().to_vec())];
    proofread(Source::from_files("draft", files).unwrap())
}

/// What people type, paste or have on the keyboard when the cat walks over it.
const AWKWARD: &[&str] = &[
    "feed \"3A\", 'left'",
    "C:\\valves\\new\\",
    "\\",
    "\"",
    "\\\"); calibrate(); //",
    "Schieber für Größe ½, 0,5 mm",
    "クラッチ",
    "“late” upshift – 2–3",
    "tab\tand\u{a0}blanks   ",
    "hid\u{200b}den\u{202e} and\u{1b}[2J",
    "*/ /* ${x} `y` #{ z }",
    "80 % & <b>",
];

fn circuits(text: &str) -> Vec<DraftCircuit> {
    let given = Limits::new(inhg(20.0), inhg(15.0)).unwrap();
    let good: Vec<_> = [22.5, 21.8, 22.1, 22.9].map(inhg).to_vec();
    let baseline = Baseline::of(&good, Promise::USUAL).unwrap();
    let limits = [
        DraftLimits::ToBeFound,
        DraftLimits::Known(given, &UNITS[0]),
        DraftLimits::Known(given, Unit::by_word("kPa").unwrap()),
        DraftLimits::Proposed(baseline.limits.unwrap(), baseline),
    ];
    let mut circuits = Vec::new();
    for feature in Feature::ALL {
        for limits in &limits {
            let name = format!("{} {}", cleaned(text), circuits.len());
            circuits.push(DraftCircuit {
                section: Some(format!("section {text}")),
                port: Some(text.to_owned()),
                set_up: Some(format!("{} {text}", feature.set_up(Some(text)))),
                limits: limits.clone(),
                land: Land::new(Length::constant(0.0127), Length::constant(0.0076), 0.25).ok(),
                land_unit: Unit::by_word("inch").unwrap(),
                symptoms: vec![text.to_owned(), "late upshift".to_owned()],
                repairs: vec![Repair { does: text.to_owned(), parts: Some(48.5), hours: None }],
                ..DraftCircuit::new(name, feature)
            });
        }
    }
    circuits
}

#[test]
fn every_kind_of_circuit_with_any_text_is_proofread_without_errors() {
    for text in AWKWARD {
        let draft = Draft {
            unit: text.to_string(),
            part: Some("lower body".to_owned()),
            from: Some(format!("{text} 1.0.0")),
            circuits: circuits(text),
        };
        let written = draft.text("draft.rhai");
        let report = proofread_text(&written);
        assert!(report.is_sound(), "{text}: {}\n{written}", report.text());
        // Nothing but limits that are to be found is left to be said.
        for finding in &report.findings {
            assert!(finding.diagnostic.message.contains("are to be found"), "{text}: {}", report.text());
        }
        assert_eq!(report.findings.len(), Feature::ALL.len());
        assert_eq!(report.tried.statements, report.tried.statements_reached);
    }
}

#[test]
fn what_was_answered_stands_in_the_procedure_as_it_was_meant() {
    for text in AWKWARD {
        let draft = Draft { unit: text.to_string(), circuits: circuits(text), ..Draft::default() };
        let source = Source::from_files("draft", [("draft.rhai".to_owned(), draft.text("").into_bytes())]);
        let program = Program::compile(source.unwrap()).unwrap();
        let (title, found) = earlier(&program, &cleaned(text)).unwrap();
        assert_eq!(title.unit.as_deref(), Some(cleaned(text).as_str()));
        assert_eq!(title.version, "1.0.0");
        for (found, meant) in found.iter().zip(&draft.circuits) {
            assert_eq!(found.name, meant.name);
            assert_eq!(found.port.as_deref(), Some(cleaned(text).as_str()));
            assert_eq!(found.symptoms, [cleaned(text), "late upshift".to_owned()]);
            assert_eq!(found.repairs[0].does, cleaned(text));
            assert_eq!(found.repairs[0].parts, Some(48.5));
            assert_eq!(found.is_judged(), meant.is_judged());
            let land = found.land.as_ref().unwrap();
            assert!((land.diameter().si() - 0.0127).abs() < 1e-12 && land.eccentricity() == 0.25);
            if let (DraftLimits::Known(found, _), DraftLimits::Known(meant, _)) =
                (&found.limits, &meant.limits)
            {
                // Kilopascals are written to a millionth.
                assert!((found.holds().si() - meant.holds().si()).abs() < 1e-3);
            }
        }
        assert_eq!(found.len(), draft.circuits.len());
    }
}

#[test]
fn every_shipped_procedure_can_be_started_from() {
    for shipped in SHIPPED {
        let program = Program::compile(shipped.source().unwrap()).unwrap();
        let (title, circuits) = earlier(&program, "Merle M2").unwrap();
        if circuits.is_empty() {
            // A bench job tests no circuit of a unit.
            assert!(title.unit.is_none(), "{}", shipped.id);
            continue;
        }
        let from = format!("{} {}", shipped.id, title.version);
        let draft = Draft { unit: "Merle M2".to_owned(), part: None, from: Some(from), circuits };
        let written = draft.text("draft.rhai");
        let report = proofread_text(&written);
        assert!(report.is_sound(), "{}: {}\n{written}", shipped.id, report.text());
        if let Some(unit) = &title.unit {
            assert!(!written.contains(unit.as_str()), "{} is still named in\n{written}", unit);
        }
        let readings = |circuit: &DraftCircuit| match &circuit.body {
            Body::Taken(steps) => steps.len(),
            Body::Of(_) => 0,
        };
        assert!(draft.circuits.iter().all(|circuit| readings(circuit) > 0), "{}", shipped.id);
    }
}

#[test]
fn names_of_files_are_plain_whatever_the_unit_is_called() {
    for text in AWKWARD {
        assert!(is_plain_name(&file_name(text, Some(text))), "{text}");
    }
    assert_eq!(file_name("Merle M2", Some("lower body")), "merle-m2-lower-body");
    assert_eq!(file_name("クラッチ", None), "new-procedure");
    assert_eq!(file_name("NUL", None), "new-procedure");
    assert!(file_name(&"very long ".repeat(30), None).len() <= 40);
}

#[test]
fn lists_are_parted_at_commas_and_name_each_thing_once() {
    assert_eq!(listed("late upshift, flare 2-3; Late  Upshift,, \u{200b},"), ["late upshift", "flare 2-3"]);
}

fn drafted(folder: &Path, arguments: &[&str], lines: &[&str]) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_spoolproof"))
        .env_clear()
        .env("HOME", folder)
        .current_dir(folder)
        .arg("draft")
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let text: String = lines.iter().map(|line| format!("{line}\n")).collect();
    // A program that refuses at once reads no lines.
    let _ = child.stdin.take().unwrap().write_all(text.as_bytes());
    child.wait_with_output().unwrap()
}

fn text(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

/// Unit and part, a circuit with everything, one with nothing but its name, the end.
const ANSWERS: &[&str] = &[
    "Merle M2",
    "lower body", //
    "clutch feed",
    "3",
    "3A",
    "",
    "67,5 kPa",
    "50 kPa",
    "12,7 mm",
    "7.6mm",
    "late upshift, flare 2-3",
    "new seals", //
    "line boost",
    "",
    "",
    "",
    "",
    "",
    "",
    "",
    "", //
    "",
];

#[test]
fn a_draft_of_plain_answers_and_empty_ones_is_written_and_sound() {
    let folder = tempfile::tempdir().unwrap();
    let output = drafted(folder.path(), &[], ANSWERS);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output));
    assert!(text(&output).lines().all(|line| line.chars().count() <= 80), "{}", text(&output));
    let written = std::fs::read_to_string(folder.path().join("merle-m2-lower-body.rhai")).unwrap();
    for wanted in [
        "title: \"Merle M2, lower body\"",
        "holds: 67.5.kPa",
        "leaks: 50.kPa",
        "land: #{ diameter: 12.7.mm, length: 7.6.mm }",
        "symptoms: [\"late upshift\", \"flare 2-3\"]",
        "limits: \"to be found\"",
    ] {
        assert!(written.contains(wanted), "{wanted} is not in\n{written}");
    }
}

#[test]
fn a_file_that_is_there_is_never_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let first = folder.path().join("merle-m2-lower-body.rhai");
    std::fs::write(&first, "mine").unwrap();
    assert!(text(&drafted(folder.path(), &[], ANSWERS)).contains("merle-m2-lower-body-2.rhai"));
    assert_eq!(std::fs::read_to_string(&first).unwrap(), "mine");
    let output = drafted(folder.path(), &["-o", "merle-m2-lower-body.rhai"], ANSWERS);
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output).contains("never writes over"), "{}", text(&output));
    for name in ["notes.txt", "a b.rhai", "größe.rhai"] {
        assert_eq!(drafted(folder.path(), &["-o", name], ANSWERS).status.code(), Some(2), "{name}");
    }
}

#[test]
fn whoever_leaves_in_between_keeps_what_was_answered_and_can_go_on() {
    for n in 0..ANSWERS.len() {
        let folder = tempfile::tempdir().unwrap();
        let output = drafted(folder.path(), &["-o", "part.rhai"], &ANSWERS[..n]);
        assert_eq!(output.status.code(), Some(3), "{n}: {}", text(&output));
        let path = folder.path().join("part.rhai");
        // The name and what is at its port make a circuit.
        let n_circuits = match n {
            0..=3 => 0,
            4..=13 => 1,
            _ => 2,
        };
        assert_eq!(path.exists(), n_circuits > 0, "{n}: {}", text(&output));
        if n_circuits == 0 {
            continue;
        }
        let report = proofread(Source::from_path(&path).unwrap());
        assert!(report.is_sound(), "{n}: {}", report.text());
        assert!(text(&output).contains("draft --from part.rhai"), "{}", text(&output));
        let program = Program::compile(Source::from_path(&path).unwrap()).unwrap();
        assert_eq!(earlier(&program, "Merle M2").unwrap().1.len(), n_circuits, "{n}");
    }
}

#[test]
fn circuits_of_another_procedure_are_kept_changed_or_left_out() {
    let folder = tempfile::tempdir().unwrap();
    assert!(drafted(folder.path(), &["-o", "first.rhai"], ANSWERS).status.success());
    let answers = [
        "Merle M3",
        "", //
        "change",
        "apply feed",
        "",
        "",
        "19",
        "",
        "",
        "",
        "",      //
        "leave", //
        "",
    ];
    let output = drafted(folder.path(), &["--from", "first.rhai", "-o", "second.rhai"], &answers);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output));
    let written = std::fs::read_to_string(folder.path().join("second.rhai")).unwrap();
    for wanted in [
        "Merle M3",
        "apply feed",
        "holds: 19.inHg",
        "leaks: 13.inHg",
        "late upshift",
        "new seals",
        "first 1.0.0",
    ] {
        assert!(written.contains(wanted), "{wanted} is not in\n{written}");
    }
    assert!(!written.contains("line boost") && !written.contains("Merle M2"), "{written}");
    let kept = drafted(folder.path(), &["--from", "first.rhai", "-o", "third.rhai"], &["", "", "", "", ""]);
    assert_eq!(kept.status.code(), Some(0), "{}", text(&kept));
    assert!(std::fs::read_to_string(folder.path().join("third.rhai")).unwrap().contains("line boost"));
}

#[test]
fn the_last_circuit_is_asked_for_again_with_what_stands() {
    let folder = tempfile::tempdir().unwrap();
    let (most, end) = ANSWERS.split_at(ANSWERS.len() - 1);
    // Again before the first circuit is nothing; then the last one gets a port and keeps its name.
    let lines =
        [&["Merle M2", "", "again"][..], &most[2..], &["again", "", "7B", "", "", "", "", "", ""], end]
            .concat();
    let output = drafted(folder.path(), &["-o", "again.rhai"], &lines);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output));
    let written = std::fs::read_to_string(folder.path().join("again.rhai")).unwrap();
    assert!(written.contains("\"line boost\"") && written.contains("over port 7B"), "{written}");
    assert_eq!(written.matches("name: ").count(), 2, "{written}");
}

#[test]
fn readings_on_good_units_become_limits_only_where_somebody_says_so() {
    let draft = |answers: &[&str]| {
        let folder = tempfile::tempdir().unwrap();
        let mut lines = vec!["Merle M2", "", "feed", "", "", "", "?", "22.5 21,8; 22.1 22.9 22.2"];
        lines.extend(answers);
        lines.extend(["", "", "", ""]);
        let output = drafted(folder.path(), &["-o", "feed.rhai"], &lines);
        assert_eq!(output.status.code(), Some(0), "{}", text(&output));
        (text(&output), std::fs::read_to_string(folder.path().join("feed.rhai")).unwrap())
    };
    let (told, taken) = draft(&["yes"]);
    assert!(told.contains("With 9 more good"), "{told}");
    assert!(taken.contains("holds: 20.5.inHg") && taken.contains("From 5 good units"), "{taken}");
    let (_, left) = draft(&[""]);
    assert!(left.contains("to be found") && !left.contains("    holds: "), "{left}");
}
