//! What walking a procedure costs: bounded for any text, whatever walks it.

use std::fs;

use crate::tests::support::{limited, run, spoolproof};

const TITLE: &str = "procedure(#{ title: \"Case\", unit: \"Merle M2\", version: \"1.0.0\" });\n";

/// Asserts that commands that walk a procedure end within the limits.
#[track_caller]
fn are_bounded(words: &[&str], steps: &str) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("case.rhai");
    fs::write(&path, format!("{TITLE}{steps}")).expect("a procedure");
    for word in words {
        let mut command = limited(spoolproof());
        command.arg("--shop").arg(folder.path().join("shop"));
        let ran = run(command.arg(word).arg(&path).env_clear().env("LC_ALL", "C.UTF-8"), "").anyhow();
        assert!((0..=3).contains(&ran.status), "{word} ended with {}: {}", ran.status, ran.err);
    }
}

#[test]
fn thirty_questions_that_grow_cost_no_more_than_others() {
    are_bounded(
        &["proofread", "worksheet"],
        "let s = \"a\"; let n = 0;\n\
         while n < 30 { if ask_yes(s) { if s.len() < 1000 { s += s; } else { s += \"b\"; } } n += 1; }",
    );
}

#[test]
fn thousands_of_questions_are_no_burden() {
    let ask = |n: usize| format!("if ask_yes(\"Question {n}?\") {{ say(\"Answer {n}.\"); }}\n");
    are_bounded(&["proofread", "rehearse"], &(0..1_900).map(ask).collect::<String>());
    let looped = "for k in 0..600 { if ask_yes(\"Question \" + k + \"?\") { say(\"x\"); } }";
    are_bounded(&["proofread", "worksheet"], looped);
}

#[test]
fn hundreds_of_tests_with_many_readings_are_no_burden() {
    let reads = "for k in 0..20 { let r = t.read(\"land \" + k); if r.leaks { t.finding(\"Land \" + k + \" is worn.\"); } }";
    let test = |n: usize| {
        format!(
            "test(circuit(#{{ name: \"circuit {n}\", holds: 20.inHg, leaks: 15.inHg }}), |t| {{ {reads} }});\n"
        )
    };
    are_bounded(&["proofread"], &(0..300).map(test).collect::<String>());
    are_bounded(&["worksheet"], &(0..40).map(test).collect::<String>());
}

#[test]
fn answers_that_all_decide_together_end_with_the_budget() {
    are_bounded(
        &["proofread"],
        "let n = 0;\nfor k in 0..200 { if ask_yes(\"Question \" + k + \"?\") { n += k; } }\n\
         for k in 0..200 { if n == k * 7 { say(\"Way \" + k + \".\"); } }",
    );
}
