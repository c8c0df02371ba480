//! A session that was parked: what whoever goes on is reminded of, and when the rig is looked at first.

use jiff::Timestamp;

use crate::record::{Amendment, EarlierRecord, Mode, Record, What};
use crate::session::{Auditor, Ended};
use crate::tests::support::{Home, Shopfront, entered, lines, takes, tick, times_answered};

/// The same clock, the next morning.
fn next_day() -> Timestamp {
    tick() + jiff::SignedDuration::from_hours(16)
}

/// The same clock, a quarter of an hour later.
fn soon() -> Timestamp {
    tick() + jiff::SignedDuration::from_mins(15)
}

const RIG: [&str; 5] = ["Ada", "29.92 inHg", "20 C", "25", "5"];
const LOOK: [&str; 2] = ["25", "5"];

const TWO: &str = "
test(circuit(#{ name: \"feed\", holds: 20.inHg, leaks: 15.inHg }));
test(circuit(#{ name: \"drain\", holds: 20.inHg, leaks: 15.inHg, set_up: \"Seat the plate.\" }));";

/// Leaves a session of a script after these answers; goes on with it by another clock; returns what
/// was shown from there.
fn left(script: &str, before: &[&str], now: fn() -> Timestamp, then: &[&str]) -> (Shopfront, Ended, String) {
    let front = Shopfront::new(script);
    let ended = front.walk_bare(&[&RIG[..], before, &["park"]].concat());
    assert!(matches!(ended, Ended::Parked), "{ended:?} {}", front.flat());
    let shown = front.flat().len();
    let ended = front.walk_by(now, Box::new(front.person(then))).expect("a session");
    let told = front.flat()[shown..].trim_start().to_owned();
    (front, ended, told)
}

#[track_caller]
fn finished(front: &Shopfront, ended: Ended) -> Record {
    let Ended::Finished(record, path) = ended else { panic!("{ended:?} {}", front.flat()) };
    let audit = Auditor::default().audit_file(&path).expect("a record");
    assert!(audit.faults.is_empty(), "{:?}", audit.faults);
    *record
}

#[test]
fn whoever_goes_on_is_reminded_of_the_cautions_that_were_read() {
    let script = "
        caution(\"The hose holds on to skin. Keep it away from eyes.\");
        caution(\"Careful! Springs leave fast. Goggles on.\");
        caution(\"Oil is hot: let it cool.\");
        caution(\"The hose holds on to skin. Keep it away from eyes.\");
        test(c);
        caution(\"A lifted vehicle can fall. Lock the lift.\");";
    for now in [tick, soon, next_day] {
        let front = Shopfront::new(script);
        front.walk_bare(&["Ada", "29.92 inHg", "20 C", "ok", "ok", "ok", "ok", "25", "park"]);
        assert!(!front.shown().contains(" mind "), "{}", front.shown());
        let shown = front.flat().len();
        front.walk_by(now, Box::new(front.person(&["5", "park"]))).expect("a session");
        let told = front.flat()[shown..].trim_start().to_owned();
        let reminded = "mind As before: The hose holds on to skin. Careful! Springs leave fast. Oil is hot: let it cool. read Fit";
        assert!(told.starts_with(reminded), "{told}");
        assert_eq!(told.matches("mind").count(), 1, "{told}");
    }
}

#[test]
fn the_most_cautious_of_the_shipped_procedures_reminds_in_four_lines() {
    let home = Home::new();
    let answers =
        ["Mo", "29.92 inHg", "20 C", "in a vehicle", "ok", "ok", "", "ok", "ok", "ok", "", "ok", "25"];
    home.run(&["guide", "corrie-c4-main"], &lines(&answers)).exits(3);
    let ran = home
        .run(&["guide", "--resume"], "")
        .exits(3)
        .says("mind As before: A lifted vehicle can fall. Oil at working temperature burns. The open hose end holds on");
    let reminded = ran.out.split(" mind ").nth(1).and_then(|told| told.split(" read ").next());
    assert_eq!(reminded.expect("a reminder").trim().lines().count(), 4, "{}", ran.out);
}

#[test]
fn a_session_resumed_after_minutes_goes_on_where_it_was() {
    let (front, ended, told) = left(TWO, &["22", "12"], soon, &["12.2", "25", "5", "leave it as it is"]);
    assert!(!told.contains("begins again") && !told.contains("Before drain"), "{told}");
    assert_eq!(finished(&front, ended).circuits[1].readings[0].takes.len(), 2);
}

#[test]
fn after_hours_the_rig_is_looked_at_before_the_next_circuit_is_read() {
    for before in [&["22"][..], &[]] {
        let then = [&LOOK[..], &["22", "22"][before.len()..], &LOOK].concat();
        let (front, ended, told) = left(TWO, before, next_day, &then);
        let at = if before.is_empty() { "feed" } else { "drain" };
        assert!(told.starts_with(&format!("read Before {at}, recheck the calibration.")), "{told}");
        assert_eq!(finished(&front, ended).checks.len(), 2);
    }
    // A look that was made before somebody left is made again.
    let (front, ended, told) = left(TWO, &["22"], next_day, &["25", "5", "park"]);
    assert!(matches!(ended, Ended::Parked), "{told}");
    fn two_days() -> Timestamp {
        next_day() + jiff::SignedDuration::from_hours(24)
    }
    let shown = front.flat().len();
    let then = [&LOOK[..], &["22"], &LOOK].concat();
    let ended = front.walk_by(two_days, Box::new(front.person(&then))).expect("a session");
    assert!(
        front.flat()[shown..].trim_start().starts_with("read Before drain, recheck"),
        "{}",
        &front.flat()[shown..]
    );
    assert_eq!(takes(&finished(&front, ended)), ["22"]);
}

#[test]
fn a_circuit_that_was_left_in_its_middle_is_begun_again_behind_a_look_at_the_rig() {
    let script = "test(c, |t| { t.caution(\"The spring jumps.\"); t.ready(\"Seat the plate.\"); t.read(\"inboard\"); t.read(\"outboard\"); });";
    let again = ["25", "5", "ok", "", "21.5", "22.5", "25", "5"];
    let (front, ended, told) = left(script, &["ok", "", "22"], next_day, &again);
    let told_first = "rig c was left amid its readings, and the rig may have been moved since: its test begins again. read Before c, recheck";
    assert!(told.starts_with(told_first), "{told}");
    let record = finished(&front, ended);
    assert_eq!(takes(&record), ["21.5", "22.5"]);
    let times = ["The spring jumps.", "Seat the plate."].map(|words| times_answered(&record, words));
    assert_eq!((times, record.checks.len()), ([2, 2], 2));
}

#[test]
fn what_needs_no_hose_any_more_needs_no_look_at_the_rig() {
    let script = "test(c, |t| { t.read(); t.ask_yes(\"Any noise?\"); });";
    let (front, ended, told) = left(script, &["22"], next_day, &["no", "25", "5"]);
    assert!(told.contains("kept Reading: 22") && told.contains("ask Any noise?"), "{told}");
    assert_eq!(finished(&front, ended).checks.len(), 1);
}

#[test]
fn a_rig_that_has_drifted_before_anything_was_read_on_it_is_set_again() {
    let then = ["24", "5", "24", "5", "25", "5", "22", "22", "25", "5"];
    let (front, ended, told) = left(TWO, &[], next_day, &then);
    assert!(told.contains("rig It has drifted since it was last good, so it is set again."), "{told}");
    let record = finished(&front, ended);
    assert_eq!((record.calibrations.len(), record.drifts().count()), (2, 1));
    let drifted = record.journal.iter().find_map(|event| match &event.what {
        What::Drifted { circuits, .. } => Some(circuits.len()),
        _ => None,
    });
    assert_eq!(drifted, Some(0));
    assert_eq!(entered(&record, &record.circuits[1].readings[0].takes[0]), "22");
}

#[test]
fn who_amends_a_record_looks_at_no_rig_and_at_no_caution() {
    let mut front = Shopfront::new(&format!("caution(\"Suction holds skin.\");{TWO}"));
    front.unusual = |opening| {
        let earlier = EarlierRecord { session: "20260101-080000-k7q4m2".to_owned(), digest: "0".repeat(64) };
        let reason = "typed wrong".to_owned();
        opening.amends = Some(Amendment { earlier, reason, by: "Ada".to_owned() });
    };
    front.walk_bare(&["Ada", "29.92 inHg", "20 C", "ok", "25", "5", "22", "12", "park"]);
    let then = ["12.2", "25", "5", "leave it as it is"];
    let ended = front.walk_by(next_day, Box::new(front.person(&then))).expect("a session");
    assert!(!front.shown().contains(" mind "), "{}", front.shown());
    assert_eq!(finished(&front, ended).circuits[1].readings[0].takes.len(), 2);
}

#[test]
fn an_attempt_that_was_left_goes_on_where_it_was_since_its_rig_is_simulated() {
    let mut front = Shopfront::new(TWO);
    front.unusual = |opening| opening.mode = Mode::Practice;
    front.walk_bare(&[&RIG[..], &["22", "12", "park"]].concat());
    let then = ["12.2", "25", "5", "leave it as it is"];
    let ended = front.walk_by(next_day, Box::new(front.person(&then))).expect("a session");
    assert_eq!(finished(&front, ended).circuits[1].readings[0].takes.len(), 2);
}
