//! Rehearsals: a unit is sound, or leaks where and as somebody asked for, and the first screen says so.

use crate::procedure::SHIPPED;
use crate::tests::support::{Home, Ran};
use serde_json::Value;

const PROCEDURE: &str = r#"
procedure(#{ title: "Merle M2 valve", unit: "Merle M2", version: "1.0.0" });
caution("The hose holds on to what closes it. Keep fingers and eyes away.");
let switching = circuit(#{ name: "switching", holds: 19.inHg, leaks: 15.inHg });
test(switching, |t| {
    let open = t.read();
    if !open.holds {
        let blocked = t.trial("with 4C blocked");
        if blocked.holds { t.finding("It comes across from 4C."); } else { t.finding("It is not from 4C."); }
    }
});
let converter = circuit(#{ name: "converter", holds: 20.inHg, leaks: 15.inHg });
test(converter, |t| {
    let inboard = t.read("inboard");
    let outboard = t.read("outboard");
    if inboard.holds && outboard.leaks { t.finding("Only the outboard land is worn."); }
});
let strict = circuit(#{ name: "strict", holds: 23.inHg, leaks: 21.inHg });
test(strict);
"#;

fn rehearsed(options: &[&str]) -> (Ran, Value) {
    let home = Home::with("merle.rhai", PROCEDURE);
    let ran = home.run(&[&["rehearse", "merle.rhai"], options].concat(), "").exits(0);
    (ran, home.rehearsal())
}

/// Rehearses with these leaks.
fn leaking(leaks: &[&str]) -> (Ran, Value) {
    rehearsed(&leaks.iter().flat_map(|leak| ["--leak", leak]).collect::<Vec<_>>())
}

/// The texts of this name in a list of the record.
fn texts<'a>(record: &'a Value, list: &str, name: &str) -> Vec<&'a str> {
    record[list].as_array().expect("a list").iter().filter_map(|item| item[name].as_str()).collect()
}

fn verdicts(record: &Value) -> Vec<&str> {
    texts(record, "circuits", "verdict")
}

fn findings(record: &Value) -> Vec<&str> {
    texts(record, "findings", "text")
}

#[test]
fn without_a_leak_every_circuit_holds_and_the_first_screen_says_so() {
    let (ran, record) = rehearsed(&[]);
    let _ = ran.says("In the simulated unit every circuit is sound.");
    assert_eq!(verdicts(&record), ["holds"; 3], "a strict limit is met as well");
    let (_, record) = rehearsed(&["--elevation", "5280ft"]);
    assert_eq!(verdicts(&record), ["holds"; 3], "in the hills too");
}

#[test]
fn every_circuit_of_every_shipped_procedure_holds_in_a_rehearsal() {
    for shipped in SHIPPED {
        let home = Home::new();
        home.run(&["rehearse", shipped.id], "").exits(0);
        let record = home.rehearsal();
        let verdicts = verdicts(&record);
        assert!(!verdicts.is_empty(), "{}", shipped.id);
        let is_sound = |verdict: &&str| ["holds", "right"].contains(verdict);
        assert!(verdicts.iter().all(is_sound), "{}: {verdicts:?}", shipped.id);
    }
}

#[test]
fn one_circuit_is_worn_and_the_others_stay_sound() {
    for (n, name) in ["switching", "converter", "strict"].into_iter().enumerate() {
        let (ran, record) = leaking(&[&format!("{name}=worn")]);
        let _ = ran.says(&format!("In the simulated unit: {name} is worn. Everything else is sound."));
        let mut expected = ["holds"; 3];
        expected[n] = "worn";
        assert_eq!(verdicts(&record), expected, "{name}");
    }
}

#[test]
fn a_leak_at_one_stop_and_a_leak_that_blocking_cures_are_found_as_such() {
    let leaks = ["converter: outboard=leaks", "switching=leaks", "switching: with 4C blocked=sound"];
    let (ran, record) = leaking(&leaks);
    let _ = ran.says("switching leaks; switching: with 4C blocked is sound");
    assert_eq!(verdicts(&record), ["leaks", "leaks", "holds"]);
    assert_eq!(findings(&record), ["It comes across from 4C.", "Only the outboard land is worn."]);
    let (_, record) = leaking(&["switching=0.03in"]);
    assert_eq!(findings(&record), ["It is not from 4C."]);
}

#[test]
fn a_number_draws_faults_that_are_not_told() {
    let mut met = std::collections::BTreeSet::new();
    for seed in ["1", "2", "3", "4", "5", "6", "7", "8"] {
        let (ran, record) = rehearsed(&["--seed", seed]);
        let _ = ran.says(&format!("is drawn with the number {seed}, and not told"));
        met.extend(verdicts(&record).into_iter().map(str::to_owned));
    }
    assert!(met.len() >= 3, "eight units of three circuits show every verdict: {met:?}");
    assert_eq!(verdicts(&rehearsed(&["--seed", "3"]).1), verdicts(&rehearsed(&["--seed", "3"]).1));
}

#[test]
fn a_reading_or_a_state_that_is_not_known_is_refused_with_the_one_that_was_meant() {
    let home = Home::with("merle.rhai", PROCEDURE);
    for (leak, said) in [
        ("converter: outbord=leaks", "Did you mean \"converter: outboard\"?"),
        ("convertr=leaks", "Did you mean \"converter\"?"),
        ("converter=wron", "sound, worn, leaks or a hole"),
        ("converter=7in", "a hole lies between 0 and 0.2 in"),
    ] {
        home.refuses(2, &["rehearse", "merle.rhai", "--leak", leak], said);
    }
}
