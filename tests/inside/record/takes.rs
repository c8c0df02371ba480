//! Which takes of a reading count, and when there are enough.

use crate::leak::{Limits, Verdict};
use crate::quantity::{Entry, UNITS};
use crate::record::{BenchState, Next, Spot, Takes};
use crate::tests::support::inhg;

/// Returns which takes count, the verdict on them, and what is to be done next.
fn taken(limits: Limits, readings: &[&str]) -> (Vec<bool>, Verdict, Next) {
    let spot = Spot { limits: Some(limits), ..Spot::default() };
    let mut takes = Takes::new(false);
    readings.iter().for_each(|reading| takes.add(&Entry::parse(reading, &UNITS[0]).unwrap()).unwrap());
    let outcome = takes.outcome(&BenchState::exact(None), &spot).unwrap();
    (outcome.counts.clone(), outcome.verdict(), takes.next(&outcome))
}

#[test]
fn of_what_is_to_hold_the_best_take_is_right_since_a_poor_seat_only_lowers_a_reading() {
    let limits = Limits::new(inhg(20.0), inhg(15.0)).unwrap();
    assert_eq!(taken(limits, &["10"]), (vec![true], Verdict::Leaks, Next::Reseat));
    assert_eq!(taken(limits, &["10", "22.5"]), (vec![false, true], Verdict::Holds, Next::Enough));
    assert_eq!(taken(limits, &["10", "10.2"]), (vec![true, true], Verdict::Leaks, Next::Enough));
}

#[test]
fn of_a_passage_the_middle_take_is_right_since_a_plate_may_leak_and_may_cover_it() {
    let window = Limits::window(inhg(8.0), inhg(12.0)).unwrap();
    assert_eq!(taken(window, &["10"]), (vec![true], Verdict::Right, Next::Enough));
    assert_eq!(taken(window, &["18"]), (vec![true], Verdict::Tight, Next::Reseat));
    assert_eq!(taken(window, &["18", "18.2"]), (vec![true, true], Verdict::Tight, Next::Enough));
    assert_eq!(taken(window, &["18", "10"]).2, Next::Reseat);
    assert_eq!(taken(window, &["18", "10", "10.1"]), (vec![false, true, true], Verdict::Right, Next::Enough));
    assert_eq!(taken(window, &["4", "10", "18"]), (vec![false, true, false], Verdict::Right, Next::Enough));
}
