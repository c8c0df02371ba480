//! What leads where: steps that several answers open together are reached, and only what is shown to be
//! impossible is called so.

use crate::proofread::{Report, proofread, worksheet};
use crate::tests::support::{compiled, source};

fn of_steps(steps: &str) -> Report {
    proofread(source(&procedure(steps)))
}

fn procedure(steps: &str) -> String {
    format!(
        "procedure(#{{ title: \"Case\", unit: \"Merle M2\", version: \"1.0.0\" }});\n\
         caution(\"Mind the suction of the hose.\");\n{steps}\n"
    )
}

/// The test of a circuit with usual limits.
fn test_of(name: &str, steps: &str) -> String {
    format!("test(circuit(#{{ name: \"{name}\", holds: 20.inHg, leaks: 15.inHg }}), |t| {{ {steps} }});\n")
}

#[track_caller]
fn all_reached(steps: &str) {
    let report = of_steps(steps);
    assert!(report.is_sound(), "{}", report.text());
    let tried = report.tried;
    assert_eq!(
        (tried.reached, tried.impossible, tried.not_tried),
        (tried.statements, 0, 0),
        "{}",
        report.text()
    );
    assert!(!tried.is_cut, "{}", report.text());
}

#[track_caller]
fn finds(report: &Report, message: &str) -> usize {
    let found = report.faults.iter().find(|found| found.fault.message.contains(message));
    assert!(found.is_some(), "{}", report.text());
    found.and_then(|found| found.fault.line).unwrap_or_default()
}

#[test]
fn three_readings_of_one_test_open_twenty_seven_ways_and_each_is_walked() {
    let verdicts = ["holds", "worn", "leaks"];
    let mut steps = "let a = t.read(\"a\"); let b = t.read(\"b\"); let c = t.read(\"c\");\n".to_owned();
    for (a, b, c) in (0..27).map(|n| (verdicts[n % 3], verdicts[n / 3 % 3], verdicts[n / 9])) {
        steps += &format!("if a.{a} && b.{b} && c.{c} {{ t.say(\"{a}, {b}, {c}\"); }}\n");
    }
    all_reached(&test_of("feed", &steps));
}

#[test]
fn verdicts_of_circuits_far_apart_are_tried_together() {
    let keep =
        |n: usize| test_of(&format!("circuit {n}"), &format!("let r = t.read(); seen[{n}] = r.leaks;"));
    let tests: String = (0..6).map(keep).collect();
    all_reached(&format!(
        "let seen = [false, false, false, false, false, false];\n{tests}\
         if seen[0] && seen[4] {{ say(\"both\"); }}\nif seen[0] && !seen[4] {{ say(\"the first\"); }}\n\
         if !seen[0] && seen[4] {{ say(\"the fifth\"); }}"
    ));
}

#[test]
fn how_many_of_six_circuits_leak_is_counted_out_and_a_seventh_is_impossible() {
    let count = |n: usize| test_of(&format!("circuit {n}"), "if t.read().leaks { n += 1; }");
    let tests: String = (0..6).map(count).collect();
    let says: String = (1..=7).map(|n| format!("if n == {n} {{ say(\"{n} of them\"); }}\n")).collect();
    let report = of_steps(&format!("let n = 0;\n{tests}{says}"));
    assert_eq!((report.tried.impossible, report.tried.not_tried), (1, 0), "{}", report.text());
    assert_eq!(finds(&report, "no answer leads to this say"), 16);
}

#[test]
fn barometers_texts_and_numbers_are_tried_where_the_script_compares_them() {
    all_reached(
        "if barometer() < 90.kPa { say(\"high up\"); }\n\
         if ask_text(\"Which kind?\") == \"spare\" { say(\"a spare one\"); }\n\
         let b = ask_number(\"Bore?\", #{ unit: \"mm\" });\n\
         if b.taken && b.value > 12.75.mm { say(\"wide\"); }\n\
         if b.taken && b.value == 12.75.mm { say(\"just so\"); }\n\
         let a = ask_number(\"Valve?\", #{ unit: \"mm\", low: 12.5.mm, high: 12.8.mm });\n\
         if a.taken && b.taken && a.value - b.value > 0.1.mm { say(\"loose\"); }",
    );
    all_reached(&test_of(
        "feed",
        "let r = t.read(); if r.standard < 21.3.inHg && r.standard > 21.2.inHg { t.say(\"between\"); }\n\
         if r.hole > 0.02.inch { t.say(\"a large hole\"); }",
    ));
}

#[test]
fn what_no_answer_leads_to_is_shown_and_what_hangs_on_figures_is_not_called_so() {
    let report = of_steps(&test_of("feed", "let r = t.read(); if r.holds && r.leaks { t.say(\"never\"); }"));
    finds(&report, "no answer leads to this say: all that decide it were tried together");
    let report = of_steps(
        "let b = ask_number(\"Bore?\", #{ unit: \"mm\" });\n\
         if b.taken && b.value * 3 - b.value > 20.mm && b.value < 9.mm { say(\"never\"); }",
    );
    assert_eq!((report.tried.impossible, report.tried.not_tried), (0, 1), "{}", report.text());
    finds(&report, "this say was not reached by the values that were tried");
}

#[test]
fn where_the_budget_ends_it_is_said_how_many_ways_were_walked_and_what_was_not_tried() {
    let steps = "let n = 0;\nfor k in 0..40 { if ask_yes(\"Question \" + k + \"?\") { n += 1; } }\n\
                 if n == 19 { say(\"nineteen\"); }\nif n == 41 { say(\"more than there are\"); }";
    let report = of_steps(steps);
    let tried = report.tried;
    assert!(tried.is_cut && tried.impossible == 0 && tried.not_tried >= 1, "{}", report.text());
    let n = tried.not_tried;
    let said = if n == 1 { "1 statement".to_owned() } else { format!("{n} statements") };
    let text = report.text().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.ends_with(&format!("Stopped after {} ways, {said} not tried.", tried.walks)), "{text}");
    finds(&report, "not everything that may lead to it was tried");
}

#[test]
fn a_test_that_looks_at_another_ones_reading_fails_where_that_circuit_is_left_out_and_it_is_said_which() {
    let first = test_of("the first", "first = t.read();");
    let second = test_of("the second", "let r = t.read(); if first.leaks && r.leaks { t.say(\"both\"); }");
    let report = of_steps(&format!("let first = ();\n{first}{second}"));
    let found = report.faults.iter().find(|found| found.fault.is_error()).expect("an error");
    assert_eq!(found.left_out, ["the first"], "{}", report.text());
    assert_eq!(found.fault.line, Some(5));
    assert!(report.text().contains("with \"the first\" left out"), "{}", report.text());
    let kept = test_of("the first", "is_leaking = t.read().leaks;");
    let asked = test_of("the second", "let r = t.read(); if is_leaking && r.leaks { t.say(\"both\"); }");
    all_reached(&format!("let is_leaking = false;\n{kept}{asked}"));
}

#[test]
fn a_division_by_nothing_and_a_test_without_a_reading_are_found_on_three_answers() {
    let ask = "let a = if ask_yes(\"A?\") { 1 } else { 0 };\nlet b = if ask_yes(\"B?\") { 1 } else { 0 };\n\
               let c = if ask_yes(\"C?\") { 1 } else { 0 };\n";
    let report = of_steps(&format!("{ask}say(\"A part is \" + 1 / (a + 1 - b + c));"));
    assert_eq!(finds(&report, "this division has no finite result"), 6);
    let typed: Vec<_> =
        report.faults[0].answers.iter().rev().take(3).map(|line| line.typed.as_str()).collect();
    assert_eq!(typed, ["no", "yes", "no"]);
    let steps = "if a == 1 || b == 0 || c == 1 { t.read(); }";
    let report = of_steps(&format!("{ask}{}", test_of("feed", steps)));
    finds(&report, "ended without a reading that counts");
}

#[test]
fn a_caution_behind_three_answers_stands_on_top_of_the_form_and_the_condition_of_a_finding_is_whole() {
    let sheet = worksheet(&compiled(&procedure(&format!(
        "if ask_yes(\"A?\") {{ if ask_yes(\"B?\") {{ if ask_yes(\"C?\") {{ caution(\"It is hot.\"); }} }} }}\n{}",
        test_of(
            "feed",
            "let a = t.read(\"inner\"); let b = t.read(\"middle\"); let c = t.read(\"outer\");\n\
             if a.holds && !b.holds && !b.retest && c.holds { t.finding(\"Only the middle land.\"); }"
        )
    ))), None).0;
    let top = sheet.split("\n   1  ").next().expect("what stands on top");
    assert!(top.contains("It is hot."), "{sheet}");
    assert!(sheet.contains("> if 2 is yes and 3 is yes and 4 is yes:"), "{sheet}");
    assert!(sheet.contains("> if 7 holds and 8 is worn or leaks and 9 holds:"), "{sheet}");
}

#[test]
fn what_a_form_can_not_say_is_for_the_bench_with_a_computer() {
    let count = |n: usize| test_of(&format!("circuit {n}"), "if t.read().leaks { n += 1; }");
    let tests: String = (0..5).map(count).collect();
    let sheet = worksheet(
        &compiled(&procedure(&format!("let n = 0;\n{tests}if n == 3 {{ finding(\"Three leak.\"); }}"))),
        None,
    )
    .0;
    assert!(
        sheet.contains("for the bench with a computer only; it may depend on 3, 4, 5, 6 and 7:"),
        "{sheet}"
    );
    assert!(sheet.contains("[ ] found: Three leak."), "{sheet}");
}

#[test]
fn a_finding_without_a_verdict_behind_it_is_remarked_on() {
    let remarked = |steps: &str, message: &str| finds(&of_steps(&test_of("feed", steps)), message);
    remarked("let r = t.read(); if r.standard < 20.inHg { t.finding(\"Worn.\"); }", "a figure of a reading");
    remarked("t.read(); t.finding(\"Worn.\");", "found whatever is read and answered");
    remarked("let r = t.read(); if !r.holds { t.finding(\"Worn.\"); }", "decides nothing (retest)");
    remarked(
        "let r = t.read(); let bad = !r.holds; if bad { t.finding(\"Worn.\"); }",
        "decides nothing (retest)",
    );
    let clean = "let r = t.read(); if r.worn || r.leaks { t.finding(\"Worn.\"); }";
    assert!(of_steps(&test_of("feed", clean)).faults.is_empty());
}

#[test]
fn a_finding_that_an_undecided_reading_leads_to_is_remarked_on_however_it_gets_there() {
    let is_remarked = |steps: &str| of_steps(steps).text().contains("decides nothing (retest)");
    let in_test = |steps: &str| is_remarked(&test_of("feed", &format!("let a = t.read(\"a\"); {steps}")));
    let found = "t.finding(\"Found.\");";
    let second = "let b = t.read(\"b\");";
    for steps in [
        format!("if !(a.worn || a.leaks) {{ {found} }}"),
        format!("{second} if a.holds && !(b.worn || b.leaks) {{ {found} }}"),
        format!("if !a.holds {{ if t.ask_yes(\"Scrap?\") {{ t.say(\"Scrap.\"); }} else {{ {found} }} }}"),
        format!("if !a.holds {{ {found} }} if a.hole > 0.7.mm {{ t.say(\"A big hole.\"); }}"),
        format!("if !a.holds {{ {found} }} if a.retest {{ t.say(\"Read it again.\"); }}"),
    ] {
        assert!(in_test(&steps), "{steps}");
    }
    for steps in [
        // Whoever asks for what is undecided means it.
        format!("if a.retest {{ {found} }}"),
        format!("if a.worn || a.leaks {{ t.say(\"Bad.\"); }} else if a.retest {{ {found} }}"),
        format!("if !(a.worn || a.leaks || a.retest) {{ {found} }}"),
        // A verdict blames, whatever was looked at before.
        format!("{second} if a.leaks {{ t.say(\"Inner.\"); }} else if b.worn || b.leaks {{ {found} }}"),
        format!("{second} if a.worn || b.worn || a.leaks || b.leaks {{ {found} }}"),
        // An answer decides, and the reading does not.
        format!("if a.leaks {{ t.say(\"Bad.\"); }} if t.ask_yes(\"Scrap?\") {{ {found} }}"),
    ] {
        assert!(!in_test(&steps), "{steps}");
    }
    let tests =
        |look: &str| ["f", "g"].map(|name| test_of(name, &format!("{name} = t.read(){look};"))).concat();
    let outside = |look: &str, steps: &str| {
        is_remarked(&format!("let f = false; let g = false;\n{}{steps}", tests(look)))
    };
    assert!(outside(".leaks", "if f || g { say(\"Bad.\"); } else { finding(\"All are sound.\"); }"));
    assert!(!outside(".leaks", "if f || g { finding(\"Bad.\"); }"));
    assert!(!outside(".holds", "if f && g { finding(\"All are sound.\"); }"));
}
