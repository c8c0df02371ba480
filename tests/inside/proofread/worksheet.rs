//! The worksheet: a form with a field for everything that a procedure may ask.

use crate::procedure::{Program, SHIPPED};
use crate::proofread::{lesson, worksheet};
use crate::tests::support::{Home, compiled};

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
        let sheet = worksheet(&program, None).0;
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
fn cautions_that_a_form_begins_with_are_printed_once_and_others_on_top_too() {
    let printed = |text: &str, caution: &str| {
        let text = format!("procedure(#{{ title: \"Rinse\", version: \"1.0.0\" }});\n{text}");
        let sheet = crate::tests::support::flat(&worksheet(&compiled(&text), None).0);
        (sheet.contains("CAUTIONS"), sheet.matches(caution).count())
    };
    let both = "section(\"First\"); caution(\"Goggles on.\"); caution(\"Gloves on.\"); ready(\"Rinse it.\");";
    assert_eq!(printed(both, "Goggles on."), (false, 1));
    assert_eq!(
        printed(&format!("{both} caution(\"No flame.\"); ready(\"Dry it.\");"), "No flame."),
        (true, 2)
    );
    assert_eq!(printed("ready(\"Rinse it.\"); caution(\"Goggles on.\");", "Goggles on."), (true, 2));
}

#[test]
fn a_field_says_on_which_answers_it_is_to_be_filled_in() {
    let sheet = worksheet(&compiled(BRANCHES), None).0;
    let condition = |text| line_of(&sheet, text).1.trim().to_owned();
    assert_eq!(condition("Take the body out."), "> if 2 is \"vehicle\":");
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
    let sheet = worksheet(&compiled(&text), None).0;
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
    let (sheet, is_sound) = worksheet(&compiled(text), None);
    assert!(is_sound);
    let at = |what: &str| sheet.find(what).unwrap_or_else(|| panic!("no {what:?} in {sheet}"));
    assert!(at("CIRCUIT drain") < at("found: Only the feed leaks."), "{sheet}");
    assert!(sheet.contains("if 2 leaks and 3"), "{sheet}");
}

#[test]
fn a_shop_at_an_elevation_is_told_limits_and_points_as_its_gauge_shows_them_there() {
    let text = BRANCHES.replace("set_up: ", "kind: \"hole\", set_up: ");
    let home = Home::with("merle.rhai", &text);
    let printed = || home.done(&["worksheet", "merle.rhai"]).split_whitespace().collect::<Vec<_>>().join(" ");
    let form = printed();
    assert!(form.contains("LIMITS for sea level and the usual gauge."), "{form}");
    assert!(form.contains("Plugged ________ inHg (25 at sea level)"), "{form}");
    home.done(&["rig", "set", "--elevation", "4300ft"]);
    let form = printed();
    // U.S. Standard Atmosphere 1976: 1310.6 m, 288.15 K less 6.5 K/km, to the power of 5.25588: 86 523 Pa, 25.55 inHg,
    // which is 0.8539 of sea level and makes of 25 and 5 inHg 21.35 and 4.27; the dial can show 21.25 and 4.25. What a
    // hole passes goes by shares of the deepest vacuum, 0.85 of which leaves 17.0 of 20 and 12.75 of 15, a little less
    // for the room's share.
    assert!(form.contains("at 4300 ft, where the barometer usually stands at 25.6 inHg"), "{form}");
    assert!(form.contains("good: 17 inHg up, leaks: 12.7 down; standard: 20 and 15"), "{form}");
    assert!(
        form.contains("Plugged ________ inHg (21.25 here), through the orifice ________ inHg (4.25)."),
        "{form}"
    );
    assert!(!form.contains("sea level"), "{form}");
}

#[test]
fn a_sheet_for_a_lesson_says_of_each_circuit_what_its_leak_does_on_the_road_in_80_columns() {
    for shipped in SHIPPED {
        let program = Program::compile(shipped.source().expect("a procedure")).expect("a procedure");
        let outline = program.outline().expect("an outline");
        let sheet = lesson(&program, outline);
        for line in sheet.lines() {
            assert!(line.chars().count() <= 80, "{}: {line}", shipped.id);
        }
        let text = crate::tests::support::flat(&sheet);
        for circuit in &outline.circuits {
            assert!(text.contains(&circuit.name.to_uppercase()), "{}", circuit.name);
            let told = [circuit.means.clone(), Some(circuit.symptoms.join(", "))];
            told.iter().flatten().for_each(|told| assert!(text.contains(told.as_str()), "{told} in {text}"));
        }
        assert_eq!(sheet.matches("Verdict ____").count(), outline.circuits.len());
    }
    let home = Home::new();
    home.run(&["worksheet", "--lesson", "corrie-c4-main"], "").exits(0).says("On the road: ");
    let to_page = ["worksheet", "--lesson", "corrie-c4-main", "--html", "lesson.html"];
    home.run(&to_page, "").exits(0).says("Written: lesson.html");
    let page = home.read("lesson.html");
    assert!(page.contains("On the road: ") && page.contains("Verdict ____"), "{page}");
}
