//! What a student sees and does: the words of the bench, the dial, the needle.

use crate::practice::{Act, Doing, Workbench, dial, shipped, stands};
use crate::quantity::{INCH_OF_MERCURY, Pressure};
use crate::record::{RigParts, What};
use crate::rig::Condition;
use crate::rig::Valve;

#[test]
fn a_turn_is_understood_however_its_words_stand() {
    let quarter = Act::Doing(Doing::Turn(Valve::Inlet, 0.25));
    for line in
        ["inlet open 1/4", "inlet 1/4 open", "open inlet 1/4", "Inlet open a quarter turn", "inlet open 0,25"]
    {
        assert_eq!(Act::read(line), Some(Ok(quarter)), "{line}");
    }
    let shut = Act::read("bleed 1 1/2 turns shut");
    assert_eq!(shut, Some(Ok(Act::Doing(Doing::Turn(Valve::Bleed, -1.5)))));
    for line in ["inlet", "inlet 1/4", "bleed open", "inlet open far", "inlet open 99"] {
        let how = Act::read(line).unwrap().unwrap_err();
        assert!(how.contains("open 1/4"), "{line}: {how}");
    }
    for answer in ["22.5", "yes", "1", "plug it", "done", "", "leaks", "seat the plate"] {
        assert_eq!(Act::read(answer), None, "{answer}");
    }
}

#[test]
fn what_is_done_is_written_so_that_it_is_read_again() {
    for line in [
        "inlet open 1/3",
        "bleed close 2.125",
        "plug",
        "orifice",
        "seat",
        "wipe",
        "wait 12.5",
        "inspect",
        "swap",
    ] {
        let Some(Ok(Act::Doing(doing))) = Act::read(line) else { panic!("{line}") };
        let Some(Ok(Act::Doing(again))) = Act::read(&doing.to_string()) else { panic!("{doing}") };
        assert_eq!(doing.to_string(), again.to_string());
    }
}

#[test]
fn turns_are_written_as_a_knob_is_read() {
    for (line, written) in [
        ("inlet open 0.25", "inlet open 1/4"),
        ("bleed close 1.1875", "bleed close 1 3/16"),
        ("inlet open 2", "inlet open 2"),
        ("inlet open 0.3", "inlet open 0.3"),
    ] {
        let Some(Ok(Act::Doing(doing))) = Act::read(line) else { panic!("{line}") };
        assert_eq!(doing.to_string(), written);
    }
    let knobs = [0.0, 0.01, 0.12, 1.0, 1.255, 2.99].map(stands);
    let read = [
        "shut",
        "hardly open",
        "open about 1/8 turn",
        "open about 1 turn",
        "open about 1 1/4 turns",
        "open about 3 turns",
    ];
    assert_eq!(knobs, read);
}

#[test]
fn the_drawn_needle_stands_where_it_is_between_the_marks() {
    for (tenths, (columns, n_marks)) in (0..=300_u32).flat_map(|at| [(at, (80, 5)), (at, (33, 2))]) {
        let inch = f64::from(tenths) / 10.0;
        let needle = Pressure::from_si(inch * INCH_OF_MERCURY).unwrap();
        let [figures, marks, pointer] = dial(&RigParts::USUAL.dial, needle, columns);
        assert!([&figures, &marks, &pointer].iter().all(|line| line.len() <= columns), "{figures}");
        let at = pointer.find('^').unwrap();
        // A figure ends one column behind its mark; ten columns are an inch of mercury.
        let first: f64 = figures.split_whitespace().next().unwrap().parse().unwrap();
        let zero = marks.find('|').unwrap();
        assert!(
            (first + (at - zero) as f64 / 10.0 - inch).abs() < 0.051,
            "{inch}: {figures}\n{marks}\n{pointer}"
        );
        assert_eq!(marks.matches('|').count(), n_marks + 1);
        assert_eq!(marks.matches('\'').count(), n_marks, "a mark every half inch of mercury");
    }
}

#[test]
fn the_figures_of_the_scale_stand_still_while_the_needle_comes_home() {
    let figures = |tenths: u32| {
        let needle = Pressure::from_si(f64::from(tenths) / 10.0 * INCH_OF_MERCURY).unwrap();
        let [figures, ..] = dial(&RigParts::USUAL.dial, needle, 80);
        figures
    };
    // A rig is set to 25 and 5 inHg (common practice, no source).
    for home in [250, 50] {
        let around = home - 15..=home + 15;
        assert!(around.into_iter().all(|tenths| figures(tenths) == figures(home)), "{}", figures(home));
    }
}

fn done(bench: &mut Workbench, doing: &str) {
    bench.take(&What::Did { circuit: None, on: None, doing: doing.to_owned() });
}

#[test]
fn opening_the_inlet_pulls_deeper_and_opening_the_bleed_shallower() {
    let exercise = shipped().remove(1).exercise;
    let mut bench = Workbench::new(&exercise, &[]);
    done(&mut bench, "plug");
    let before = bench.needle();
    done(&mut bench, "inlet open 1/2");
    let deeper = bench.needle();
    assert!(deeper > before);
    done(&mut bench, "bleed open 1");
    assert!(bench.needle() < deeper);
}

#[test]
fn a_rig_that_is_set_stands_at_both_points() {
    for prepared in shipped().iter().filter(|prepared| prepared.exercise.is_set) {
        let bench = Workbench::new(&prepared.exercise, &[]);
        let scale = prepared.exercise.barometer_pa.si() / 101_325.0 * INCH_OF_MERCURY;
        // 25 and 5 inHg at sea level, each moved to the nearest half mark of a dial with a mark every
        // half inch of mercury.
        for (condition, wanted) in [(Condition::Plugged, 25.0), (Condition::Through, 5.0)] {
            let shown = bench.would_show(condition).si();
            assert!((shown - wanted * scale).abs() < 0.2 * INCH_OF_MERCURY, "{condition}: {shown}");
        }
    }
}
