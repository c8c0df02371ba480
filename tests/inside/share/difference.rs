//! What a new version of a procedure changes, as a mechanic would say it.

use crate::share::{ChangedLines, difference};
use crate::tests::support::{Home, program};

/// The changes from one procedure to another, in the words of a mechanic.
fn changes(before: &str, after: &str) -> Vec<String> {
    let outline = |text: &str| program("x", &[("x.rhai", text)]).outline().unwrap().clone();
    difference(&outline(before), &outline(after)).iter().map(|change| change.text.clone()).collect()
}

const BEFORE: &str = r#"
procedure(#{ title: "T", unit: "U", version: "1.0.0", oil: #{ pressure: 150.psi, temperature: 93.celsius } });
caution("The pump's suction holds whatever closes the hose.");
if ask_yes("Is the body off?") { caution("Springs are under load: hold the plate down."); }
let feed = circuit(#{ name: "feed", port: "3A", set_up: "Seat the plate over port 3A.", holds: 20.inHg,
    leaks: 15.inHg, symptoms: ["late upshift"], repairs: [#{ does: "ream", parts: 48, hours: 0.6 }] });
test(feed, |t| {
    t.ready("Hold the valve against its inboard stop.");
    if t.read("inboard").leaks { t.ready("Wipe the land and look for a score."); t.finding("The land is scored."); }
});
test(circuit(#{ name: "lube", port: "4", holds: 18.inHg, leaks: 12.inHg }));
"#;

#[test]
fn a_procedure_differs_from_itself_in_nothing() {
    assert_eq!(changes(BEFORE, BEFORE), Vec::<String>::new());
    assert_eq!(changes(BEFORE, &BEFORE.replace("1.0.0", "2.0.0")), Vec::<String>::new());
}

/// What is written in place of what, and how that is said.
const CHANGES: &str = r#"
caution("The pump's suction holds whatever closes the hose."); =>
    => caution dropped: The pump's suction holds whatever closes the hose.
caution("Springs are under load: hold the plate down."); =>
    => caution dropped: Springs are under load: hold the plate down.
20.inHg => 18.inHg => limit moved: feed holds from 20 inHg to 18 inHg, so more of it passes as sound
20.inHg => 21.inHg => limit moved: feed holds from 20 inHg to 21 inHg, so less of it passes as sound
12.inHg => 9.inHg => limit moved: lube leaks from 12 inHg to 9 inHg, so less of it is condemned
12.inHg => 13.inHg => limit moved: lube leaks from 12 inHg to 13 inHg, so more of it is condemned
test(circuit(#{ name: "lube", port: "4", holds: 18.inHg, leaks: 12.inHg })); => => circuit removed: lube
name: "lube" => name: "lubrication" => circuit renamed: lube is lubrication now
name: "lube", port: "4" => name: "cooler", port: "5"
    => circuit added: cooler. Holds from 18 inHg up, leaks from 12 inHg down
port: "3A" => port: "3B" => port of feed changed: 3A, now 3B
["late upshift"] => ["flare 2-3"] => symptoms of feed changed: late upshift, now flare 2-3
parts: 48 => parts: 52 => repairs of feed changed: ream, parts for 48, 0.6 h, now ream, parts for 52, 0.6 h
unit: "U", => => unit changed: U, now none
title: "T" => title: "Another" => title changed: T, now Another
"#;

#[test]
fn each_change_is_said_as_a_mechanic_would_say_it() {
    for change in CHANGES.replace("\n    ", " ").trim().lines() {
        let [from, to, said] = change.split("=>").map(str::trim).collect::<Vec<_>>()[..] else {
            panic!("{change}")
        };
        let after = BEFORE.replacen(from, to, 1);
        assert_ne!(after, BEFORE, "{from}");
        let found = changes(BEFORE, &after);
        assert!(found.iter().any(|change| change == said), "{said}: {found:?}");
        let renamed_too = usize::from(said.starts_with("circuit added"));
        assert_eq!(found.len(), 1 + renamed_too, "{found:?}");
    }
}

/// What a version says in other words is shown as lines; of a caution, it is told besides.
#[test]
fn a_caution_in_other_words_is_dropped_and_added() {
    let found = changes(BEFORE, &BEFORE.replace("load: hold the plate down.", "load."));
    let dropped = "caution dropped: Springs are under load: hold the plate down.";
    assert_eq!(found, [dropped, "caution added: Springs are under load."]);
    let reworded = BEFORE.replace("Hold the valve against", "Hold the valve firmly against");
    assert_eq!(changes(BEFORE, &reworded), Vec::<String>::new());
}

#[test]
fn what_can_hurt_and_what_judges_otherwise_stands_in_front() {
    let after = BEFORE
        .replace("title: \"T\"", "title: \"Another\"")
        .replace("20.inHg", "18.inHg")
        .replace("caution(\"The pump's suction holds whatever closes the hose.\");", "");
    let found = changes(BEFORE, &after);
    let kinds: Vec<_> = found.iter().map(|change| change.split([':', ' ']).next().unwrap()).collect();
    assert_eq!(kinds, ["caution", "limit", "title"]);
}

/// A procedure whose later circuits, limits and words depend on the answers.
const BRANCHING: &str = r#"
procedure(#{ title: "T", unit: "U", version: "1.0.0" });
let kind = ask_choice("Which body?", ["early", "middle", "late", "last"]);
let limit = if kind == "last" { 13.inHg } else { 14.inHg };
test(circuit(#{ name: "feed", holds: 20.inHg, leaks: limit }), |t| {
    let r = t.read();
    if r.leaks { t.ask_number("Bore?", #{ unit: "mm", low: 12.7.mm, high: 12.8.mm }); }
    let n = t.ask_number("Spring?", #{ unit: "mm", low: 30.mm });
    if n.low && r.holds && kind == "middle" { t.ready("Fit the spare spring."); }
});
"#;

#[test]
fn limits_that_only_some_answers_lead_to_are_compared_too() {
    let limit = "limit moved: feed leaks from 13 inHg to 5 inHg, so less of it is condemned";
    assert_eq!(changes(BRANCHING, &BRANCHING.replace("13.inHg", "5.inHg")), [limit]);
    let gone = BRANCHING.replace("13.inHg", "14.inHg");
    let limit = "limit moved: feed leaks from 13 inHg to 14 inHg, so more of it is condemned";
    assert_eq!(changes(BRANCHING, &gone), [limit]);
    let limit = "limit moved: feed leaks from 14 inHg to 13 inHg, so less of it is condemned";
    assert_eq!(changes(&gone, BRANCHING), [limit]);
}

const APART: &str = r#"
procedure(#{ title: "T", unit: "U", version: "1.0.0" });
test(circuit(#{ name: "bleed", between: [8.inHg, 12.inHg] }));
test(circuit(#{ name: "feed", port: "5A", holds: 20.inHg, leaks: 15.inHg }), |t| {
    t.read("out");
    t.read("in", #{ port: "5B", holds: 18.inHg, leaks: 13.inHg });
});
"#;

#[test]
fn windows_and_readings_with_something_to_themselves_are_compared() {
    let change = |from: &str, to: &str| changes(APART, &APART.replacen(from, to, 1));
    let moved = "limit moved: bleed is too tight from 12 inHg to 11 inHg, so more of it is condemned";
    assert_eq!(change("12.inHg", "11.inHg"), [moved]);
    let moved = "limit moved: bleed is too open from 8 inHg to 7 inHg, so less of it is condemned";
    assert_eq!(change("8.inHg", "7.inHg"), [moved]);
    let other = "judged otherwise: bleed. Right between 8 inHg and 12 inHg, too open below, too tight above; now: Holds \
                 from 20 inHg up, leaks from 15 inHg down";
    assert_eq!(change("between: [8.inHg, 12.inHg]", "holds: 20.inHg, leaks: 15.inHg"), [other]);
    let moved = "limit moved: feed: in holds from 18 inHg to 17 inHg, so more of it passes as sound";
    assert_eq!(change("18.inHg", "17.inHg"), [moved]);
    assert_eq!(change("5B", "5C"), ["port of feed: in changed: 5B, now 5C"]);
    // What a reading has of its circuit moves with that, and is said once.
    let moved = "limit moved: feed holds from 20 inHg to 19 inHg, so more of it passes as sound";
    assert_eq!(change("20.inHg", "19.inHg"), [moved]);
}

#[test]
fn limits_of_measured_values_are_compared() {
    let moved = "limits moved of feed: Bore? 12.7 mm to 12.8 mm, now 12.7 mm to 13 mm";
    assert_eq!(changes(BRANCHING, &BRANCHING.replace("12.8.mm", "13.mm")), [moved]);
    let moved = "limits moved of feed: Spring? 30 mm and more, now 30 mm and less";
    assert_eq!(changes(BRANCHING, &BRANCHING.replace("low: 30", "high: 30")), [moved]);
}

#[test]
fn the_lines_that_are_others_are_found_whatever_they_do() {
    let read = |text: &str| program("x", &[("x.rhai", text)]);
    let lines = |before: &str, after: &str| ChangedLines::between(&read(before), &read(after));
    let commented = format!("// Another comment.\n{}\n\n", BRANCHING.replace("1.0.0", "1.0.1"));
    assert!(lines(BRANCHING, &commented).is_empty());
    let hidden = lines(BRANCHING, &BRANCHING.replace("Fit the spare", "Cut the"));
    assert!(hidden.gone.len() == 1 && hidden.new.len() == 1 && !hidden.is_reordered, "{hidden:?}");
    assert!(hidden.gone[0].contains("Fit the spare spring.") && hidden.new[0].contains("Cut the spring."));
    let mut swapped: Vec<_> = BEFORE.lines().collect();
    swapped.swap(2, 3);
    let swapped = lines(BEFORE, &swapped.join("\n"));
    assert!(swapped.is_reordered && swapped.gone.is_empty() && swapped.new.is_empty(), "{swapped:?}");
}

#[test]
fn the_lines_that_are_others_are_shown_before_an_installation() {
    let (north, south) = (Home::new(), Home::new());
    let hand_over = |version: &str, text: &str| {
        north.write("branching.rhai", text.replace("1.0.0", version));
        north.done(&["share", "branching.rhai", "--as", "North Bench"]);
        let name = format!("branching-{version}.pack.json");
        south.write(&name, std::fs::read(north.path(&name)).unwrap());
        name
    };
    let first = hand_over("1.0.0", BRANCHING);
    south.done(&["receive", &first, "--trust", &north.fingerprint(), "--yes"]);
    let same = hand_over("1.0.1", &format!("// Another comment.\n{BRANCHING}"));
    south.says(&["receive", &same, "--check"], "nothing of its text is different but comments");
    let other = hand_over("1.0.2", &BRANCHING.replace("Fit the spare", "Cut the"));
    let said = south.done(&["receive", &other, "--check"]);
    assert!(said.contains("< if n.low") && said.contains("(\"Fit the spare spring.\")"), "{said}");
    assert!(said.contains("> if n.low") && said.contains("(\"Cut the spring.\")"), "{said}");
    let document = south.json(&["receive", &other, "--check"]);
    assert!(document["lines"]["new"][0].as_str().unwrap().contains("Cut the spring."), "{document}");
}
