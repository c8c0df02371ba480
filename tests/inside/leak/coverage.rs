//! Coverage of the 95 % intervals.
//!
//! As in JCGM 101:2008, every input is drawn from its distribution around what was indicated and carried through
//! the full, curved relations, and draws that no circuit can give (a leak below none) are dropped. The intervals
//! must hold 94 to 96 % of what comes out, from 0.2 inHg under the plugged point down to 1 inHg, for cheap gauges
//! and good ones. The other way round, circuits are made up, indications drawn for them, and the intervals must
//! hold the truth as often.

use crate::air::{self, CRITICAL_RATIO, flow_function};
use crate::leak::*;
use crate::oil::Oil;
use crate::quantity::{INCH, Length, Pressure, Temperature};
use crate::rig::{Calibration, Dial, Grade, Orifice, OrificeKind};
use crate::tests::support::{Draws, celsius, close, inhg};

const N_DRAWS: usize = 20_000;

/// Readings in inHg on a rig plugged at 25 inHg.
const READINGS: [f64; 13] = [24.8, 24.6, 24.3, 24.0, 23.0, 20.0, 16.0, 12.5, 9.0, 5.0, 3.0, 1.5, 1.0];

fn dial(grade: Grade, division: f64) -> Dial {
    Dial::new(grade, inhg(30.0), inhg(division)).expect("a dial")
}

fn bench(dial: Dial, orifice: Orifice, station: f64) -> Bench {
    let scale = station / 101_325.0;
    let station = Pressure::constant(station);
    let calibration =
        Calibration::new(inhg(25.0 * scale), inhg(5.0 * scale), orifice, station, celsius(20.0));
    Bench::new(calibration.expect("a calibration"), dial)
}

/// A land whose clearance takes in every leak that is drawn, and oil at work.
fn context() -> Context {
    let land = Land::new(Length::constant(INCH), Length::constant(INCH), 0.2).expect("a land");
    let oil = Oil::typical().expect("an oil");
    let oil = OilState::new(oil, Pressure::constant(1e6), celsius(93.0), None).expect("oil at work");
    Context { kind: None, land: Some(land), oil: Some(oil) }
}

/// Every figure of an assessment, with its name; the gap is out of its domain where oil would pass it as a hole.
fn figures(with_land: &Assessment, without: &Assessment) -> [(&'static str, Option<Estimate>); 7] {
    let meant = |meaning: Option<Interpretation>| meaning.and_then(|meaning| meaning.estimate());
    [
        ("leak", Some(with_land.relative_leak)),
        ("hole", Some(with_land.hole_m)),
        ("standard reading", Some(without.standard_reading_pa)),
        ("air flow", Some(with_land.air_kg_s)),
        ("clearance", meant(with_land.clearance_m)),
        ("oil in the gap", meant(without.gap_oil_m3_s)),
        ("oil in the hole", meant(without.hole_oil_m3_s)),
    ]
}

/// Errors that a dial has of its own at three places, those of its shape as the places lie to each other.
fn own_errors(dial: &Dial, places: [f64; 3], draws: &mut Draws) -> [f64; 3] {
    let [a, b, c] = places;
    let (ab, ac, bc) =
        (dial.shape_correlation(a, b), dial.shape_correlation(a, c), dial.shape_correlation(b, c));
    let (u, v, w) = (draws.normal(1.0), draws.normal(1.0), draws.normal(1.0));
    // The rows of Cholesky's factor of the correlations.
    let second = (1.0 - ab * ab).sqrt();
    let third = (bc - ab * ac) / second;
    let shape =
        [u, ab * u + second * v, ac * u + third * v + (1.0 - ac * ac - third * third).max(0.0).sqrt() * w];
    let deviation = |limit: f64| limit / 3.0_f64.sqrt();
    std::array::from_fn(|n| {
        shape[n] * deviation(dial.shape_limit(places[n]))
            + draws.normal(deviation(dial.look_limit(places[n])))
    })
}

/// Everything that may have been behind the indications, in the order of [`figures`]; nothing where no circuit can be.
fn truth(
    bench: &Bench,
    reading: Pressure,
    land: &Land,
    oil: &OilState,
    draws: &mut Draws,
) -> Option<Vec<f64>> {
    let (shown, dial) = (&bench.calibration, bench.dial);
    let orifice = shown.orifice();
    let (offset, gain) = (draws.within(dial.offset_limit()), draws.within(dial.gain_limit()));
    let room = Pressure::from_si(shown.barometer().si() + draws.normal(bench.barometer_uncertainty.si()))?;
    let bore = Length::from_si(orifice.diameter().si() + draws.within(orifice.tolerance().si()))?;
    let plug_change = draws.within(air::PLUG_CHANGE_LIMIT);
    let coefficient_error = draws.within(air::PLUG_LIMIT);
    let plate_change = draws.within(air::PLATE_LIMIT);
    let standard_error = draws.within(air::PLUG_LIMIT);
    let liquid_error = draws.within(air::PLUG_LIMIT);
    let temperature =
        Temperature::from_si(shown.temperature().si() + draws.normal(bench.temperature_uncertainty))?;
    let places = [shown.plugged().si(), shown.through().si(), reading.si()];
    let own = own_errors(&dial, places, draws);
    // A vacuum that the gauge showed as this.
    let behind = |shown: Pressure, own: f64, draws: &mut Draws| {
        let noise = draws.normal(bench.repeatability.si()) + draws.within(dial.resolution().si());
        Pressure::from_si(shown.si() + offset + gain * shown.si() + own + noise)
    };
    let true_orifice = Orifice::new(bore, orifice.kind()).ok()?;
    let (plugged, through) =
        (behind(shown.plugged(), own[0], draws)?, behind(shown.through(), own[1], draws)?);
    let rig = Calibration::new(plugged, through, true_orifice, room, temperature).ok()?;
    let drifted = Pressure::from_si(reading.si() + draws.within(bench.drift.si()))?;
    let vacuum = behind(drifted, own[2], draws)?;
    let point = rig.at(vacuum).ok()?;

    let through_ratio = shown.through_ratio();
    let share = ((through_ratio - point.ratio()) / (through_ratio - CRITICAL_RATIO)).abs().min(1.0);
    let coefficient = orifice.kind().coefficient(rig.through_ratio());
    let (change, coefficient, liquid, over_plug) = match orifice.kind() {
        OrificeKind::Plug => {
            (plug_change, coefficient + coefficient_error, air::PLUG_COEFFICIENT + liquid_error, 1.0)
        }
        OrificeKind::Plate => {
            let scale = air::PLATE_LIMIT / air::PLUG_LIMIT;
            let true_coefficient = coefficient + coefficient_error * scale;
            let over_plug = (1.0 + coefficient_error * scale / coefficient)
                / (1.0 + standard_error / air::PLUG_COEFFICIENT);
            let liquid = orifice.kind().coefficient(1.0) + liquid_error * scale;
            (plate_change / coefficient, true_coefficient, liquid, over_plug)
        }
    };
    // As large as a bleed valve's law can make it; what that is, is tested elsewhere.
    let valves = draws.within(1.0);
    let by_valves = 1.0 + valves * point.valve_errors().0;
    let leak = point.leak() * (1.0 + share * change) * by_valves;
    let area =
        point.area() * rig.orifice_over_standard() * over_plug * (1.0 + valves * point.valve_errors().1);
    let standard = Calibration::standard().reading_of_area(area).ok()?;
    let thermal = (air::GAS_CONSTANT * temperature.si()).sqrt();
    let phi = flow_function(point.ratio())?;
    let flow = point.area() * by_valves * coefficient * true_orifice.area() * room.si() * phi / thermal;
    let gauge = room.si() - vacuum.si();
    let slip = 6.9 + draws.within(0.9);
    let clearance = land.clearance(&rig).with_slip(slip).solve(flow, gauge).ok()?;
    let squares = (room.si() - gauge) * (room.si() + gauge);
    let gap = 2.0 * air::viscosity(temperature.si()) * thermal * thermal * oil.pressure().si() * flow
        / (oil.viscosity() * squares);
    let jet = liquid * leak * true_orifice.area() * (2.0 * oil.pressure().si() / oil.density()).sqrt();
    Some(vec![leak, rig.hole(leak), standard.si(), flow, clearance, gap, jet])
}

#[track_caller]
fn covered(bench: &Bench, readings: &[f64]) {
    let with_land = context();
    let without = Context { kind: Some(LeakKind::Hole), land: None, ..with_land };
    let (land, oil) = with_land.land.zip(with_land.oil).expect("both are known");
    let scale = bench.calibration.barometer().si() / 101_325.0;
    for shown in readings {
        let reading = inhg(shown * scale);
        let assessed = |context| assess(&[reading], bench, context).expect("a reading");
        let figures = figures(&assessed(&with_land), &assessed(&without));
        let mut held = vec![0_usize; figures.len()];
        let mut n_possible = 0;
        let mut draws = Draws(7);
        for _ in 0..N_DRAWS {
            let Some(truth) = truth(bench, reading, &land, &oil, &mut draws) else { continue };
            n_possible += 1;
            for ((_, estimate), (held, truth)) in figures.iter().zip(held.iter_mut().zip(truth)) {
                let inside = |estimate: &Estimate| (estimate.low..=estimate.high).contains(&truth);
                *held += usize::from(estimate.as_ref().is_some_and(inside));
            }
        }
        for ((name, estimate), held) in figures.iter().zip(held) {
            if estimate.is_none() {
                assert!(*name == "oil in the gap" && *shown < 3.0, "no {name} at {shown} inHg");
                continue;
            }
            let share = held as f64 / f64::from(n_possible);
            // A clearance comes as a range, that of its slip with it.
            let most = if *name == "clearance" { 1.0 } else { 0.96 };
            assert!((0.94..=most).contains(&share), "{name} at {shown} inHg: {share}");
        }
    }
}

#[test]
fn intervals_of_a_cheap_gauge_cover_what_they_say() {
    covered(&bench(dial(Grade::AsmeC, 1.0), Orifice::STANDARD, 101_325.0), &READINGS);
}

#[test]
fn intervals_of_the_usual_gauge_cover_what_they_say() {
    covered(&bench(Dial::USUAL, Orifice::STANDARD, 101_325.0), &READINGS);
}

#[test]
fn intervals_of_a_good_gauge_cover_what_they_say() {
    covered(&bench(dial(Grade::Asme2A, 0.2), Orifice::STANDARD, 101_325.0), &READINGS);
    covered(&bench(dial(Grade::En0_25, 0.1), Orifice::STANDARD, 101_325.0), &READINGS);
}

#[test]
fn intervals_cover_at_altitude_with_a_plate_and_with_drift() {
    let orifice = Orifice::new(Length::constant(0.03 * INCH), OrificeKind::Plate).expect("an orifice");
    let bench = bench(Dial::USUAL, orifice, 83_000.0).with_drift(inhg(0.25));
    let bench = bench.with_barometer_uncertainty(Pressure::constant(1000.0));
    covered(&bench, &READINGS);
}

/// A circuit and its rig made up, and what the gauge shows of them.
fn indicated(bench: &Bench, vacuum: f64, draws: &mut Draws) -> Option<(Bench, Pressure, Estimate)> {
    let design = &bench.calibration;
    let dial = bench.dial;
    let (offset, gain) = (draws.within(dial.offset_limit()), draws.within(dial.gain_limit()));
    let places = [design.plugged().si(), design.through().si(), vacuum];
    let own = own_errors(&dial, places, draws);
    let mut shown = |nth: usize| {
        let noise = draws.normal(bench.repeatability.si()) + draws.within(dial.resolution().si()) + own[nth];
        Pressure::from_si(places[nth] - offset - gain * places[nth] - noise)
    };
    let (plugged, through, reading) = (shown(0)?, shown(1)?, shown(2)?);
    let (orifice, room, air) = (design.orifice(), design.barometer(), design.temperature());
    let calibration = Calibration::new(plugged, through, orifice, room, air).ok()?;
    let made = Bench::new(calibration, dial);
    let hole = Context { kind: Some(LeakKind::Hole), ..Context::default() };
    let assessment = assess(&[reading], &made, &hole).ok()?;
    Some((made, reading, assessment.standard_reading_pa))
}

#[test]
fn intervals_hold_the_truth_of_made_up_circuits() {
    for dial in [dial(Grade::AsmeC, 1.0), Dial::USUAL, dial(Grade::Asme2A, 0.2)] {
        let bore_known =
            Orifice::with_tolerance(Orifice::STANDARD.diameter(), OrificeKind::Plug, Length::constant(0.0));
        let bench = bench(dial, bore_known.expect("an orifice"), 101_325.0);
        let bench = bench.with_barometer_uncertainty(Pressure::constant(0.0));
        let mut draws = Draws(11);
        let (mut near, mut all) = ((0, 0), (0, 0));
        while all.1 < N_DRAWS {
            let vacuum = inhg(0.8 + 24.2 * draws.unit()).si();
            let Some((made, reading, interval)) = indicated(&bench, vacuum, &mut draws) else { continue };
            let truth = bench.calibration.at(Pressure::constant(vacuum)).expect("a reading");
            let truth = Pressure::constant(truth.standard_reading());
            let held = usize::from((interval.low..=interval.high).contains(&truth.si()));
            all = (all.0 + held, all.1 + 1);
            if made.calibration.plugged().si() - reading.si() < inhg(1.0).si() {
                near = (near.0 + held, near.1 + 1);
            }
        }
        let share = |(held, n): (usize, usize)| held as f64 / n as f64;
        assert!(near.1 > 500);
        assert!((0.94..=0.965).contains(&share(all)), "{}", share(all));
        // Within 1 inHg of the plugged point; fewer circuits, so a wider margin.
        assert!((0.93..=0.97).contains(&share(near)), "{} of {}", share(near), near.1);
    }
}

/// Two looks at a circuit that was seated anew between them, read to a step of the dial.
fn two_takes(bench: &Bench, vacuum: f64, step: f64, draws: &mut Draws) -> Option<(Bench, [Pressure; 2])> {
    let (design, dial) = (&bench.calibration, bench.dial);
    let (offset, gain) = (draws.within(dial.offset_limit()), draws.within(dial.gain_limit()));
    let places = [design.plugged().si(), design.through().si(), vacuum];
    let own = own_errors(&dial, places, draws);
    let mut shown = |nth: usize, step: f64| {
        let needle =
            places[nth] - offset - gain * places[nth] - own[nth] + draws.normal(bench.repeatability.si());
        Pressure::from_si((needle / step).round() * step)
    };
    let fine = dial.smallest_division().si() / 4.0;
    let (plugged, through, takes) = (shown(0, fine)?, shown(1, fine)?, [shown(2, step)?, shown(2, step)?]);
    let calibration =
        Calibration::new(plugged, through, design.orifice(), design.barometer(), design.temperature());
    Some((Bench::new(calibration.ok()?, dial), takes))
}

/// Whoever reads to whole marks often has two takes a mark apart, and whoever reads finer seldom.
#[test]
fn intervals_of_two_takes_that_agree_hold_the_truth_to_whatever_step_they_were_read() {
    let bore_known =
        Orifice::with_tolerance(Orifice::STANDARD.diameter(), OrificeKind::Plug, Length::constant(0.0));
    let bench = bench(Dial::USUAL, bore_known.expect("an orifice"), 101_325.0);
    let bench = bench.with_barometer_uncertainty(Pressure::constant(0.0));
    let hole = Context { kind: Some(LeakKind::Hole), ..Context::default() };
    let division = bench.dial.smallest_division().si();
    for step in [0.25, 0.5, 1.0] {
        let mut draws = Draws(13);
        // Takes less than a mark apart, and those that are a mark apart.
        let (mut near, mut apart) = ((0_u32, 0_u32), (0_u32, 0_u32));
        for _ in 0..4 * N_DRAWS {
            let vacuum = inhg(0.8 + 23.0 * draws.unit()).si();
            let Some((made, takes)) = two_takes(&bench, vacuum, step * division, &mut draws) else {
                continue;
            };
            let differ = (takes[0].si() - takes[1].si()).abs();
            if differ > made.repeatability_limit().si() {
                continue;
            }
            let Ok(assessment) = assess(&takes, &made, &hole) else { continue };
            let truth = bench.calibration.at(Pressure::constant(vacuum)).expect("a reading");
            let interval = assessment.standard_reading_pa;
            let place = if differ > 0.99 * division { &mut apart } else { &mut near };
            let is_held = (interval.low..=interval.high).contains(&truth.standard_reading());
            *place = (place.0 + u32::from(is_held), place.1 + 1);
        }
        for (held, n) in [near, apart] {
            assert!(n > 1000, "{n}");
            let share = f64::from(held) / f64::from(n);
            assert!((0.93..=0.965).contains(&share), "{share} of {n}, read to {step} of a division");
        }
    }
}

#[test]
fn probabilities_of_verdicts_are_frequencies() {
    let bench = bench(Dial::USUAL, Orifice::STANDARD, 101_325.0);
    let limits = Limits::new(inhg(20.0), inhg(15.0)).expect("limits");
    let mut draws = Draws(5);
    for shown in [20.6, 20.2, 19.7, 17.5, 15.4, 14.8, 14.2] {
        let hole = Context { kind: Some(LeakKind::Hole), ..Context::default() };
        let assessment = assess(&[inhg(shown)], &bench, &hole).expect("a reading");
        let judgement = judge(&assessment, &limits, 0.95);
        let context = context();
        let (land, oil) = context.land.zip(context.oil).expect("both are known");
        let (mut holds, mut leaks, mut n) = (0.0, 0.0, 0.0);
        for _ in 0..N_DRAWS {
            let Some(truth) = truth(&bench, inhg(shown), &land, &oil, &mut draws) else { continue };
            n += 1.0;
            holds += f64::from(truth[2] >= limits.upper().si());
            leaks += f64::from(truth[2] <= limits.lower().si());
        }
        assert!((judgement.above - holds / n).abs() < 0.015, "{} against {}", judgement.above, holds / n);
        assert!((judgement.below - leaks / n).abs() < 0.015, "{} against {}", judgement.below, leaks / n);
        close(judgement.above + judgement.between + judgement.below, 1.0, 1e-12);
    }
}
