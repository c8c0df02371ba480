//! The worksheet: a form with a field for everything that a procedure may ask, and a session made of a filled one.

use std::fs;
use std::process::{Command, Output, Stdio};

use spoolproof::procedure::{Program, SHIPPED, Source};
use spoolproof::proofread::{answers_of, worksheet};

fn of_text(text: &str) -> Program {
    let files = [("procedure.rhai".to_owned(), text.as_bytes().to_vec())];
    Program::compile(Source::from_files("procedure", files).expect("a text")).expect("a procedure")
}

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
        let sheet = worksheet(&program).expect("a sheet");
        for line in sheet.lines() {
            assert!(line.chars().count() <= 80, "{}: {line}", shipped.id);
        }
        let cautions = sheet.find("CAUTIONS").expect("cautions");
        let first_field = sheet.find("\n   1  ").expect("a field");
        assert!(cautions < first_field, "{}", shipped.id);
    }
}

#[test]
fn a_field_says_on_which_answers_it_is_to_be_filled_in() {
    let sheet = worksheet(&of_text(BRANCHES)).expect("a sheet");
    let condition = |text| line_of(&sheet, text).1.trim().to_owned();
    assert_eq!(condition("Take the body out."), "> if 3 is \"vehicle\":");
    assert_eq!(condition("Only the outboard land"), "> if 6 holds and 7 leaks:");
    assert_eq!(condition("Bore?"), "> if 6 does not hold:");
    assert!(!condition("Reading, outboard").starts_with('>'), "{sheet}");
    assert!(line_of(&sheet, "Bore?").0.contains("(12.69 mm to 12.73 mm)"), "{sheet}");
}

#[test]
fn what_is_measured_at_the_bench_is_a_blank_in_what_is_found() {
    let text = BRANCHES.replace(
        "\"The bore is worn.\"",
        "\"The bore measures \" + bore.value + \", port \" + \"3A\" + \".\"",
    );
    let sheet = worksheet(&of_text(&text)).expect("a sheet");
    assert!(sheet.contains("found: The bore measures ________, port 3A."), "{sheet}");
}

const FORM: &str = "
# filled at the bench
technician: Ana
barometer: 29.92 inHg
plugged: 25
through: 5
2: ok
3: 2
6: 15.2; 17; 17.1
7: 22
9: 12.74 mm
check: 25; 5
";

#[test]
fn a_filled_form_becomes_the_answers_of_a_session() {
    let keyed = answers_of(&of_text(BRANCHES), FORM).expect("answers");
    assert_eq!(keyed.left_out, ["line 9: field 6, 17.1: what stands before it decides"]);
    let typed: Vec<_> = keyed.answers.lines().filter(|line| !line.starts_with('#')).collect();
    let expected = [
        "Ana",
        "29.92 inHg",
        "25",
        "5",
        "ok",
        "2",
        "",
        "",
        "15.2",
        "done",
        "17",
        "22",
        "12.74 mm",
        "25",
        "5",
    ];
    assert_eq!(typed, expected);
}

#[test]
fn what_no_question_asks_for_is_said_and_not_lost_in_silence() {
    let sound = FORM.replace("15.2; 17; 17.1", "22");
    let keyed = answers_of(&of_text(BRANCHES), &sound).expect("answers");
    assert_eq!(keyed.left_out, ["line 11: field 9, 12.74 mm: no answer before it leads there"]);
    // What is found follows by itself, so that a tick there is no answer.
    let ticked = format!("{FORM}8: x\n");
    assert_eq!(answers_of(&of_text(BRANCHES), &ticked).expect("answers").left_out.len(), 1);
    // A figure there was meant for another field.
    let slipped = format!("{sound}8: 16.1\n");
    let left = answers_of(&of_text(BRANCHES), &slipped).expect("answers").left_out;
    assert!(left[1].contains("field 8, 16.1: there is nothing to fill in"), "{left:?}");
}

#[test]
fn what_is_missing_on_a_form_is_named_by_its_field() {
    let without = |line: &str| FORM.replace(line, "");
    let problem = |form: &str| answers_of(&of_text(BRANCHES), form).expect_err("a problem").to_string();
    assert!(problem(&without("7: 22\n")).contains("field 7 is empty"), "{}", problem(&without("7: 22\n")));
    assert!(
        problem(&without("; 17; 17.1")).contains("field 6 has 15.2 and has to be seated and read once more")
    );
    assert!(problem(&without("2: ok\n")).contains("field 2"));
    assert!(problem(&without("check: 25; 5\n")).contains("check number 1"));
    assert!(problem("12 22").contains("line 1"));
    assert!(problem(&FORM.replace("7: 22", "17: 22")).contains("line 10: the form has no field \"17\""));
    assert!(problem(&FORM.replace("7: 22", "6: 22")).contains("field 6 stands on line 9 and on line 10"));
    assert!(problem(&FORM.replace("through: 5", "trough: 5")).contains("no field \"trough\""));
    assert!(problem(&FORM.replace("7: 22", "7: 26")).contains("plugged"));
}

fn run(arguments: &[&str], folder: &std::path::Path) -> Output {
    Command::new(env!("CARGO_BIN_EXE_spoolproof"))
        .args(["--shop", "shop"])
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()
        .expect("a run of the program")
}

#[test]
fn a_form_keyed_in_leaves_a_record_like_any_session() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path();
    fs::write(path.join("merle.rhai"), BRANCHES).expect("a file");
    fs::write(path.join("form.txt"), FORM.replace("15.2; 17; 17.1", "22")).expect("a file");
    let made = run(&["worksheet", "merle.rhai", "--filled", "form.txt"], path);
    assert_eq!(made.status.code(), Some(0), "{}", String::from_utf8_lossy(&made.stderr));
    fs::write(path.join("answers.txt"), made.stdout).expect("a file");
    let guided = run(&["guide", "merle.rhai", "--answers", "answers.txt"], path);
    assert_eq!(guided.status.code(), Some(0), "{}", String::from_utf8_lossy(&guided.stderr));
    assert_eq!(fs::read_dir(path.join("shop/records")).expect("records").count(), 1);
}
