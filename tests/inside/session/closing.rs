//! What closes a body comes after everything that could open it again: the last look at the rig, and
//! the choice of repairs.

use crate::leak::Verdict;
use crate::tests::support::{Home, Shopfront};

const CLOSED: &str = "test(c); closing(\"Closing\"); ready(\"Tighten the bolts.\");";

fn place(shown: &str, text: &str) -> usize {
    shown.find(text).unwrap_or_else(|| panic!("no \"{text}\" in {shown}"))
}

#[test]
fn the_last_look_and_the_decisions_come_before_anything_is_closed() {
    let front = Shopfront::new(CLOSED);
    let lines =
        ["Ada", "29.92 inHg", "20 C", "25", "5", "", "12", "", "12", "25", "5", "leave it as it is", ""];
    let record = front.finish_bare(&lines);
    let shown = front.flat();
    assert!(
        place(&shown, "Before the end, recheck the calibration") < place(&shown, "what is to be done?"),
        "{shown}"
    );
    assert!(place(&shown, "what is to be done?") < place(&shown, "Tighten the bolts"), "{shown}");
    assert_eq!((record.checks.len(), record.decisions.len()), (1, 1));
    assert_eq!(shown.matches("Before the end").count(), 2, "both points, once: {shown}");
}

#[test]
fn a_drift_that_is_found_then_finds_the_body_still_open() {
    let front = Shopfront::new(CLOSED);
    let drifted = ["Ada", "29.92 inHg", "20 C", "25", "5", "", "22", "25.6", "5.9", "25.6", "5.9"];
    let again = ["25", "5", "", "21.5", "25", "5", ""];
    let record = front.finish_bare(&[&drifted[..], &again[..]].concat());
    let shown = front.flat();
    assert_eq!(record.drifts().count(), 1);
    assert_eq!(shown.matches("Tighten the bolts").count(), 1, "{shown}");
    assert!(place(&shown, "It has drifted") < place(&shown, "Tighten the bolts"), "{shown}");
}

#[test]
fn a_test_behind_the_closing_is_a_fault_that_says_where_the_closing_belongs() {
    let text = "procedure(#{ title: \"Invented\", unit: \"Merle M2\", version: \"1.0.0\" });
caution(\"Suction holds skin.\");
closing(\"Closing\");
test(circuit(#{ name: \"feed\", holds: 20.inHg, leaks: 15.inHg }));
";
    let home = Home::with("merle.rhai", text);
    home.refuses(1, &["proofread", "merle.rhai"], "the test of \"feed\" stands behind closing(...)");
    home.write("merle.rhai", text.replace("closing", "section") + "closing(\"a\"); closing(\"b\");");
    home.refuses(1, &["proofread", "merle.rhai"], "closing(...) stands once, behind the last test");
}

#[test]
fn where_not_sound_is_sure_a_decision_is_asked_for_however_bad_it_is() {
    let record_of = |reading: &str, decided: &[&str]| {
        let front = Shopfront::new("test(c);");
        let lines = ["Ada", "29.92 inHg", "20 C", "25", "5", reading, "", reading, "", reading, "25", "5"];
        (front.finish_bare(&[&lines[..], decided].concat()), front.flat())
    };
    // On the lower limit: worn or leaking, as likely the one as the other.
    let (record, shown) = record_of("15", &["leave it as it is"]);
    assert_eq!(record.circuits[0].verdict, Some(Verdict::Retest), "{shown}");
    assert_eq!(record.decisions[0].decided, "leave it as it is");
    assert!(shown.contains("It is not sound; only how bad it is stays open."), "{shown}");
    assert!(shown.contains("c, not sound: what is to be done?"), "{shown}");
    // On the upper limit it may be sound.
    let (record, shown) = record_of("20", &[]);
    assert_eq!(record.circuits[0].verdict, Some(Verdict::Retest), "{shown}");
    assert!(record.decisions.is_empty(), "{shown}");
}
