//! Proofreading: the shipped procedures are clean, what is found can be met again at the prompt, and
//! the work stays bounded.

use std::path::Path;

use crate::procedure::{SHIPPED, Source};
use crate::proofread::{Report, proofread};
use crate::tests::support::{Home, source};

fn of_text(text: &str) -> Report {
    proofread(source(text))
}

/// A procedure of so many circuits, every third one with branches.
fn procedure_of(n_circuits: usize) -> String {
    let mut text = "procedure(#{ title: \"Growth\", version: \"1.0.0\" });\n\
                    caution(\"Mind the suction of the hose.\");\n"
        .to_owned();
    for n in 0..n_circuits {
        let circuit = format!("circuit(#{{ name: \"circuit {n}\", holds: 20.inHg, leaks: 15.inHg }})");
        let steps = match n % 3 {
            0 => {
                ", |t| { let a = t.read(\"inboard\"); let b = t.read(\"outboard\"); \
                  if a.holds && b.leaks { t.finding(\"Only the outboard land is worn.\"); } \
                  if !a.holds && t.ask_yes(\"Is the plug in place?\") { t.trial(\"neighbour blocked\"); } }"
            }
            _ => "",
        };
        text.push_str(&format!("test({circuit}{steps});\n"));
    }
    text
}

#[test]
fn every_shipped_procedure_is_clean_and_every_statement_of_it_is_reached() {
    for shipped in SHIPPED {
        let report = proofread(shipped.source().expect("a shipped procedure"));
        assert!(report.faults.is_empty(), "{}", report.text());
        assert_eq!(report.tried.statements, report.tried.reached, "{}", shipped.id);
        assert!(!report.tried.is_cut && report.tried.answers > 100, "{}", shipped.id);
    }
}

#[test]
fn work_grows_no_faster_than_the_square_of_the_number_of_questions() {
    let answers = |n| {
        let report = of_text(&procedure_of(n));
        assert!(report.faults.is_empty(), "{}", report.text());
        assert!(!report.tried.is_cut, "{}", report.text());
        report.tried.answers as f64
    };
    let found: Vec<f64> = [10, 20, 40, 80, 160].into_iter().map(answers).collect();
    for pair in found.windows(2) {
        assert!(pair[1] / pair[0] <= 4.0, "twice the circuits took {} times the answers", pair[1] / pair[0]);
    }
}

#[test]
fn a_fault_found_on_a_walk_is_met_again_at_the_prompt_with_the_answers_of_the_report() {
    let cases = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases/walks");
    for name in ["no_reading", "tested_twice", "value_not_taken", "found_deep_inside", "limit_from_an_answer"]
    {
        let path = cases.join(format!("{name}.rhai"));
        let report = proofread(Source::from_path(&path).expect("a case"));
        let home = Home::with("answers.txt", report.answers().expect("a way there"));
        let arguments = ["guide".as_ref(), path.as_os_str(), "--answers".as_ref(), "answers.txt".as_ref()];
        let ran = home.run(&arguments, "").exits(1);
        assert!(ran.err.contains(&report.faults[0].fault.message), "{name}: {}", ran.err);
    }
}

#[test]
fn the_command_prints_one_json_document_and_exits_with_one_where_there_are_errors() {
    let run = |name: &str| {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases").join(name);
        let ran = Home::new().run(&["proofread".as_ref(), "--json".as_ref(), path.as_os_str()], "").anyhow();
        (ran.status, ran.json())
    };
    let (status, json) = run("values/limits_swapped.rhai");
    assert_eq!(status, 1);
    let first = &json["messages"][0];
    assert_eq!((&first["severity"], first["message"].is_string()), (&"error".into(), true));
    // Of 15.inHg the number is pointed at.
    assert_eq!((&first["start"]["line"], &first["start"]["column"]), (&4.into(), &60.into()));
    assert_eq!((&first["end"]["line"], &first["end"]["column"]), (&4.into(), &62.into()));
    let (status, json) = run("walks/unreached.rhai");
    let messages = json["messages"].as_array().expect("messages");
    assert!(messages.iter().all(|message| message["severity"] == "warning"), "{messages:?}");
    assert_eq!((status, &messages[0]["start"]["line"]), (0, &7.into()));
}

#[test]
fn faults_go_to_standard_error_whichever_command_finds_them_and_no_line_of_theirs_is_broken() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases/values/bore_in_another_unit.rhai");
    let home = Home::new();
    for command in ["proofread", "rehearse", "worksheet", "guide"] {
        let ran = home.run(&[command.as_ref(), path.as_os_str()], "").exits(1);
        let message = "error: a bore of 0.5 mm is not that of a valve (0.04 to 7.9 in); measure it again";
        assert!(ran.err.lines().any(|line| line == message), "{command}: {}", ran.err);
        assert!(!ran.out.contains("error:"), "{command}: {}", ran.out);
    }
}
