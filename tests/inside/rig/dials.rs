//! The population of simulated dials keeps what the gauge standards say of a grade.

use crate::quantity::INCH_OF_MERCURY;
use crate::rig::simulated::{Approach, Chance, DialKind, Movement};
use crate::rig::{Dial, Grade};
use crate::tests::support::inhg;

const SEEDS: u64 = 200;

fn dial(grade: Grade) -> Dial {
    Dial::new(grade, inhg(30.0), inhg(0.5)).expect("an ordinary dial")
}

fn error(movement: &Movement, shown_for: f64, approach: Approach, chance: &mut Chance) -> f64 {
    movement.shows(shown_for * INCH_OF_MERCURY, approach, chance) / INCH_OF_MERCURY - shown_for
}

#[test]
fn every_dial_is_inside_its_grade_everywhere_rising_and_falling() {
    // ASME B40.100 (2005) table 1: grade A 2, 1, 2 %, B 3, 2, 3 %, C 4, 3, 4 %, 1A 1 % of span; 2.3: hysteresis and
    // repeatability included.
    for (grade, outer, middle) in [
        (Grade::Asme1A, 0.3, 0.3),
        (Grade::AsmeA, 0.6, 0.3),
        (Grade::AsmeB, 0.9, 0.6),
        (Grade::AsmeC, 1.2, 0.9),
    ] {
        for kind in DialKind::ALL {
            let mut most = 0.0_f64;
            for seed in 0..SEEDS {
                let chance = &mut Chance::new(seed);
                let movement = Movement::draw(kind, dial(grade), chance);
                for tenth in 0..=300 {
                    let vacuum = f64::from(tenth) / 10.0;
                    let limit = if (7.5..=22.5).contains(&vacuum) { middle } else { outer };
                    for approach in [Approach::Rising, Approach::Falling] {
                        most = most.max(error(&movement, vacuum, approach, chance).abs() / limit);
                    }
                }
            }
            assert!(most < 1.0001, "{grade} {kind:?}: {most} of the limit");
            assert!(most > 0.9, "{grade} {kind:?} comes near its limit: {most}");
        }
    }
}

#[test]
fn rising_and_falling_differ_by_what_the_kind_says() {
    for (kind, hysteresis) in [
        (DialKind::Straight, 0.0),
        (DialKind::SShaped, 0.0),
        (DialKind::SmallHysteresis, 0.15),
        (DialKind::LargeHysteresis, 0.3),
    ] {
        let chance = &mut Chance::new(1);
        let movement = Movement::draw(kind, dial(Grade::AsmeB), chance);
        for vacuum in [0.5, 5.0, 15.0, 25.0] {
            let [rising, falling] = [Approach::Rising, Approach::Falling]
                .map(|approach| error(&movement, vacuum, approach, chance));
            assert!((falling - rising - hysteresis).abs() < 1e-9, "{kind:?} at {vacuum}");
        }
    }
    // Eichordnung, annex 16: the difference is at most the limit of error, 0.25 % of 30 inHg here.
    let chance = &mut Chance::new(1);
    let fine = Movement::draw(DialKind::LargeHysteresis, dial(Grade::Asme3A), chance);
    let up = error(&fine, 15.0, Approach::Rising, chance);
    assert!((error(&fine, 15.0, Approach::Falling, chance) - up - 0.075).abs() < 1e-9);
}

#[test]
fn a_fifth_of_the_variance_is_a_readings_own() {
    // The variance over dials and readings at 25 inHg, against that of readings about their dial's own mean.
    let chance = &mut Chance::new(3);
    let (mut all, mut own, mut dials) = (0.0, 0.0, 0.0);
    for _ in 0..4000 {
        let movement = Movement::draw(DialKind::Scattered, dial(Grade::Asme1A), chance);
        let errors = [(); 8].map(|()| error(&movement, 0.0, Approach::Rising, chance));
        let mean = errors.iter().sum::<f64>() / 8.0;
        all += errors.iter().map(|e| e * e).sum::<f64>() / 8.0;
        own += errors.iter().map(|e| (e - mean).powi(2)).sum::<f64>() / 7.0;
        dials += 1.0;
    }
    let share = own / all;
    // At the end of the scale, the line is at its worst in half of the dials; elsewhere less.
    assert!((0.2..0.3).contains(&share), "{share}, over {dials} dials");
}

#[test]
fn an_s_shaped_dial_bends_and_a_straight_one_does_not() {
    let bend = |kind, seed| {
        let chance = &mut Chance::new(seed);
        let movement = Movement::draw(kind, dial(Grade::AsmeB), chance);
        let mut at = |vacuum| error(&movement, vacuum, Approach::Rising, chance);
        (at(7.5) - 0.5 * (at(0.0) + at(15.0))).abs()
    };
    let bends = |kind| (0..SEEDS).map(|seed| bend(kind, seed)).fold(0.0, f64::max);
    assert!(bends(DialKind::Straight) < 1e-9);
    assert!(bends(DialKind::SShaped) > 0.3);
}
