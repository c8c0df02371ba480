//! The worksheet: a form with a field for everything that a procedure may ask.

use crate::procedure::{Program, SHIPPED};
use crate::proofread::worksheet;
use crate::tests::support::compiled;

const BRANCHES: &str = r#"
procedure(#{ title: "Merle M2", unit: "Merle M2", version: "1.0.0" });
caution("Mind the suction of the hose.");
let place = ask_choice("Where is it?", ["bench", "vehicle"]);
if place == "vehicle" { ready("Take the body out."); }
test(circuit(#{ name: "feed", port: "3A", set_up: "Plate over 3A.", holds: 20.inHg, leaks: 15.inHg }), |t| {
    let a = t.read("inboard");
    let b = t.read("outboard");
    if a.holds && b.leaks { t.finding("Only the outboard land is worn."); }
    if !a.holds {
        let bore = t.ask_number("Bore?", #{ unit: "mm", low: 12.69.mm, high: 12.73.mm });
        if bore.high { t.finding("The bore is worn."); }
    }
});
"#;

/// Returns the line of a sheet that a text stands in, and the one before it.
fn line_of<'a>(sheet: &'a str, text: &str) -> (&'a str, &'a str) {
    let lines: Vec<_> = sheet.lines().collect();
    let at = lines.iter().position(|line| line.contains(text)).expect("a line");
    (lines[at], lines[at - 1])
}

#[test]
fn every_shipped_procedure_prints_as_a_form_of_80_columns_with_its_cautions_on_top() {
    for shipped in SHIPPED {
        let program = Program::compile(shipped.source().expect("a procedure")).expect("a procedure");
        let sheet = worksheet(&program).0;
        for line in sheet.lines() {
            assert!(line.chars().count() <= 80, "{}: {line}", shipped.id);
        }
        let cautions = sheet.find("CAUTIONS").expect("cautions");
        let first_field = sheet.find("\n   1  ").expect("a field");
        assert!(cautions < first_field, "{}", shipped.id);
        // Every session asks for these before anything is read.
        for asked in ["Technician ____", "Barometer at the bench ____", "Temperature at the bench ____"] {
            assert!(sheet[..cautions].contains(asked), "{}: {asked}", shipped.id);
        }
    }
}

#[test]
fn a_field_says_on_which_answers_it_is_to_be_filled_in() {
    let sheet = worksheet(&compiled(BRANCHES)).0;
    let condition = |text| line_of(&sheet, text).1.trim().to_owned();
    assert_eq!(condition("Take the body out."), "> if 3 is \"vehicle\":");
    assert_eq!(condition("Only the outboard land"), "> if 5 holds and 6 leaks:");
    assert_eq!(condition("Bore?"), "> if 5 does not hold:");
    assert!(!condition("Reading, outboard").starts_with('>'), "{sheet}");
    assert!(line_of(&sheet, "Bore?").0.contains("(12.69 mm to 12.73 mm)"), "{sheet}");
}

#[test]
fn what_is_measured_at_the_bench_is_a_blank_in_what_is_found() {
    let text = BRANCHES.replace(
        "\"The bore is worn.\"",
        "\"The bore measures \" + bore.value + \", port \" + \"3A\" + \".\"",
    );
    let sheet = worksheet(&compiled(&text)).0;
    assert!(sheet.contains("found: The bore measures ________, port 3A."), "{sheet}");
}

#[test]
fn what_comes_after_two_tests_stands_behind_both_though_either_may_be_left_out() {
    let text = r#"
procedure(#{ title: "Merle M2", version: "1.0.0" });
let f = false; let h = false;
test(circuit(#{ name: "feed", holds: 20.inHg, leaks: 15.inHg }), |t| { f = t.read().leaks; });
test(circuit(#{ name: "drain", holds: 20.inHg, leaks: 15.inHg }), |t| { h = t.read().leaks; });
if f && !h { finding("Only the feed leaks."); }
"#;
    let (sheet, is_sound) = worksheet(&compiled(text));
    assert!(is_sound);
    let at = |what: &str| sheet.find(what).unwrap_or_else(|| panic!("no {what:?} in {sheet}"));
    assert!(at("CIRCUIT drain") < at("found: Only the feed leaks."), "{sheet}");
    assert!(sheet.contains("if 2 leaks and 3"), "{sheet}");
}
