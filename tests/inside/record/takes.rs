//! Which takes of a reading count, and when there are enough.

use crate::leak::{Advice, Context, Limits, Sure, Verdict};
use crate::quantity::{Entry, UNITS};
use crate::record::{BenchState, Next, Spot, Takes, TakesOutcome};
use crate::tell;
use crate::tests::support::{close, inhg};

/// Returns which takes count, the verdict on them, and what is to be done next.
fn taken(limits: Limits, readings: &[&str]) -> (Vec<bool>, Verdict, Next) {
    let outcome = outcome(limits, readings);
    let mut takes = Takes::new(false);
    readings.iter().for_each(|reading| takes.add(&Entry::parse(reading, &UNITS[0]).unwrap()).unwrap());
    (outcome.takes.iter().map(|(_, counts)| *counts).collect(), outcome.verdict(), takes.next(&outcome))
}

fn outcome(limits: Limits, readings: &[&str]) -> TakesOutcome {
    let spot = Spot { limits: Some(limits), ..Spot::default() };
    let mut takes = Takes::new(false);
    readings.iter().for_each(|reading| takes.add(&Entry::parse(reading, &UNITS[0]).unwrap()).unwrap());
    takes.outcome(&BenchState::exact(None), &spot).unwrap()
}

#[test]
fn one_take_that_holds_is_enough_and_another_verdict_takes_two_that_agree() {
    let limits = Limits::new(inhg(20.0), inhg(15.0)).unwrap();
    assert_eq!(taken(limits, &["22.5"]), (vec![true], Verdict::Holds, Next::Enough));
    assert_eq!(taken(limits, &["10"]), (vec![true], Verdict::Leaks, Next::Reseat));
    assert_eq!(taken(limits, &["10", "10.2"]), (vec![true, true], Verdict::Leaks, Next::Enough));
    let window = Limits::window(inhg(8.0), inhg(12.0)).unwrap();
    assert_eq!(taken(window, &["10"]), (vec![true], Verdict::Right, Next::Enough));
    assert_eq!(taken(window, &["18", "18.2"]), (vec![true, true], Verdict::Tight, Next::Enough));
}

#[test]
fn two_takes_that_differ_ask_for_a_third_whatever_the_second_would_say() {
    let limits = Limits::new(inhg(20.0), inhg(15.0)).unwrap();
    for second in ["22.5", "17.5", "12"] {
        let asked = (vec![true, true], Verdict::Retest, Next::Reseat);
        assert_eq!(taken(limits, &["10", second]), asked, "10, then {second}");
    }
    let window = Limits::window(inhg(8.0), inhg(12.0)).unwrap();
    assert_eq!(taken(window, &["18", "10"]), (vec![true, true], Verdict::Retest, Next::Reseat));
}

#[test]
fn takes_a_mark_apart_agree_since_who_reads_to_the_nearest_mark_is_half_of_one_off() {
    // The usual gauge has a mark every half inch of mercury.
    let limits = Limits::new(inhg(20.0), inhg(17.5)).unwrap();
    assert_eq!(taken(limits, &["16.5", "16", "16.5"]).0, [true, true, true]);
    assert_eq!(taken(limits, &["10", "10.5"]), (vec![true, true], Verdict::Leaks, Next::Enough));
    assert_eq!(taken(limits, &["10", "10.6"]).2, Next::Reseat);
}

#[test]
fn two_takes_a_mark_apart_decide_where_each_of_them_would() {
    let limits = Limits::new(inhg(20.0), inhg(15.0)).unwrap();
    for (one, other) in [("12", "12.5"), ("12.5", "12"), ("13.5", "13"), ("17.5", "17")] {
        let (first, second) = (taken(limits, &[one, one]).1, taken(limits, &[other, other]).1);
        assert_eq!((first, second), (second, taken(limits, &[one, other]).1), "{one}, then {other}");
        assert_eq!(taken(limits, &[one, other]).2, Next::Enough);
        // A third that agrees changes nothing of it.
        assert_eq!(taken(limits, &[one, other, one]).1, first);
    }
}

#[test]
fn two_takes_that_agree_decide_where_their_mean_is_called_sure() {
    let limits = Limits::new(inhg(20.0), inhg(15.0)).unwrap();
    let bench = BenchState::exact(None);
    let sure = Sure::of(&limits, bench.bench().unwrap(), &Context::default(), bench.confidence());
    let (worn_from, worn_to) = sure.between.unwrap();
    let ends = [(sure.below, Verdict::Leaks), (sure.above, Verdict::Holds)];
    let ends = ends.map(|(at, verdict)| (at.unwrap(), verdict));
    for (mean, verdict) in ends.into_iter().chain([worn_from, worn_to].map(|at| (at, Verdict::Worn))) {
        for half in [0.0, 0.1, 0.25] {
            let takes = [mean - half, mean + half].map(|reading| format!("{reading:.2}"));
            let takes = takes.each_ref().map(String::as_str);
            assert_eq!(outcome(limits, &takes).verdict(), verdict, "{takes:?}");
        }
    }
}

#[test]
fn of_three_takes_the_two_that_agree_stand_and_the_odd_one_is_set_aside() {
    let limits = Limits::new(inhg(20.0), inhg(15.0)).unwrap();
    assert_eq!(
        taken(limits, &["10", "22.5", "22.4"]),
        (vec![false, true, true], Verdict::Holds, Next::Enough)
    );
    // Never the highest in silence.
    let leaks = (vec![false, true, true], Verdict::Leaks, Next::Enough);
    assert_eq!(taken(limits, &["17.5", "12", "12"]), leaks);
    assert_eq!(taken(limits, &["14", "21.5", "14.1"]).0, [true, false, true]);
    let window = Limits::window(inhg(8.0), inhg(12.0)).unwrap();
    assert_eq!(taken(window, &["18", "10", "10.1"]), (vec![false, true, true], Verdict::Right, Next::Enough));
    let said = tell::agreement(&outcome(limits, &["17.5", "12", "12"]), &UNITS[0]);
    assert_eq!(
        said.as_deref(),
        Some(
            "Set aside: 17.5 does not agree with the two others; a seat that leaked, a wet film that sealed, or the eye."
        )
    );
}

#[test]
fn where_no_two_of_three_agree_there_is_no_verdict_and_the_scatter_is_in_the_interval() {
    for readings in [["14", "17.5", "21.5"], ["14", "13", "21.5"], ["4", "10", "18"]] {
        for limits in [Limits::new(inhg(20.0), inhg(15.0)), Limits::window(inhg(8.0), inhg(12.0))] {
            let limits = limits.unwrap();
            assert_eq!(taken(limits, &readings), (vec![true; 3], Verdict::Retest, Next::Enough));
            let outcome = outcome(limits, &readings);
            assert_eq!(outcome.judgement.unwrap().advice, Some(Advice::TakesDiffer));
            let standard = outcome.assessment.standard_reading_pa;
            for reading in readings {
                let reading = inhg(reading.parse().unwrap()).si();
                assert!((standard.low..=standard.high).contains(&reading), "{reading}: {standard:?}");
            }
        }
    }
}

#[test]
fn scatter_of_few_takes_reaches_as_far_as_students_distribution() {
    // JCGM 100:2008, table G.2: 4.30 for two degrees of freedom. The squares of 15, 17 and 19 about 17 are 8, of which
    // takes a division apart explain 1/6: the mean of three is 17 give or take 4.30 * sqrt((8 - 1/6)/2)/sqrt(3) = 4.91.
    let limits = Limits::new(inhg(20.0), inhg(15.0)).unwrap();
    let budget = outcome(limits, &["15", "17", "19"]).assessment.budget;
    close(1.96 * budget.repeatability, inhg(4.91).si(), 0.005);
}
