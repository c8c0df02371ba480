//! The leak of a reading: closed form, inverse, refusals, verdicts.

use crate::air::{Barometer, BarometerSource, OutOfDomain, STANDARD_PRESSURE};
use crate::leak::*;
use crate::oil::Oil;
use crate::quantity::{INCH, Length, Pressure};
use crate::rig::{Calibration, CalibrationError, Dial, Orifice, OrificeKind, ReadingError};
use crate::tests::support::{celsius, close, inhg, rig};

#[test]
fn the_standard_rig_is_the_calibration_to_25_and_5_inches() {
    let made = rig(25.0, 5.0, STANDARD_PRESSURE);
    let standard = Calibration::standard();
    close(standard.inlet_relative(), made.inlet_relative(), 1e-15);
    close(standard.bleed_relative(), made.bleed_relative(), 1e-15);
}

#[test]
fn the_calibration_points_read_no_leak_and_one_orifice() {
    let rig = rig(24.0, 6.5, 98_000.0);
    assert_eq!(rig.leak_at(inhg(24.0)).unwrap(), 0.0);
    close(rig.leak_at(inhg(6.5)).unwrap(), 1.0, 1e-14);
}

#[test]
fn readings_that_no_circuit_can_give_are_refused() {
    let rig = rig(25.0, 5.0, STANDARD_PRESSURE);
    assert!(matches!(rig.leak_at(inhg(25.1)), Err(ReadingError::AbovePlugged { .. })));
    assert!(matches!(rig.leak_at(inhg(-1.0)), Err(ReadingError::Negative(_))));
    assert_eq!(rig.leak_at(inhg(0.0)), Err(ReadingError::Zero));
    let made = |plugged: f64, through: f64, barometer: f64| {
        Calibration::new(inhg(plugged), inhg(through), Orifice::STANDARD, inhg(barometer), celsius(20.0))
    };
    assert!(matches!(made(25.0, 5.0, 24.6), Err(CalibrationError::DeeperThanBarometer { .. })));
    assert!(matches!(made(5.0, 25.0, 29.9), Err(CalibrationError::PluggedNotAboveThrough { .. })));
    assert!(matches!(made(25.0, 0.0, 29.9), Err(CalibrationError::ThroughNotPositive(_))));
}

#[test]
fn an_assessment_refuses_what_the_calibration_refuses() {
    let bench = Bench::new(rig(25.0, 5.0, STANDARD_PRESSURE), Dial::USUAL);
    let refused = |readings: &[f64]| {
        let readings: Vec<_> = readings.iter().map(|reading| inhg(*reading)).collect();
        assess(&readings, &bench, &Context::default()).unwrap_err()
    };
    assert!(matches!(refused(&[26.0]), ReadingError::AbovePlugged { .. }));
    assert!(matches!(refused(&[20.0, 25.5]), ReadingError::AbovePlugged { .. }));
    assert!(matches!(refused(&[-1.0]), ReadingError::Negative(_)));
    assert_eq!(refused(&[0.0]), ReadingError::Zero);
    assert_eq!(refused(&[20.0, 0.0]), ReadingError::Zero);
    assert_eq!(refused(&[]), ReadingError::None);
    assert!(refused(&[26.0]).to_string().contains("plug the hose"));
}

#[test]
fn a_hole_and_a_clearance_become_the_reading_that_becomes_them() {
    let bench = Bench::new(rig(24.0, 5.5, 98_000.0), Dial::USUAL);
    for bore in [0.004, 0.0135, 0.035, 0.0625, 0.12] {
        let hole = Length::constant(bore * INCH);
        let reading = expect_hole(hole, &bench).unwrap();
        assert!(reading.low < reading.value && reading.value < reading.high);
        let found = assess(&[Pressure::constant(reading.value)], &bench, &Context::default()).unwrap();
        close(found.hole_m.value, hole.si(), 1e-10);
    }
    let land = Land::new(Length::constant(0.5 * INCH), Length::constant(0.3 * INCH), 0.3).unwrap();
    let context = Context { kind: None, land: Some(land), oil: None };
    for thou in [0.3, 1.0, 2.5] {
        let clearance = Length::constant(thou * 1e-3 * INCH);
        let reading = expect_clearance(clearance, &land, &bench).unwrap();
        let found = assess(&[Pressure::constant(reading.value)], &bench, &context).unwrap();
        close(found.clearance_m.unwrap().estimate().unwrap().value, clearance.si(), 1e-9);
    }
    assert!(expect_hole(Length::constant(0.0), &bench).is_err());
    assert!(expect_hole(Length::constant(0.01), &bench).is_err());
    assert!(expect_clearance(Length::constant(0.002), &land, &bench).is_err());
}

#[test]
fn oil_in_a_gap_too_wide_for_slow_flow_has_no_figure() {
    let bench = Bench::new(rig(25.0, 5.0, STANDARD_PRESSURE), Dial::USUAL);
    let land = Land::new(Length::constant(0.5 * INCH), Length::constant(0.3 * INCH), 0.0).unwrap();
    let oil = OilState::new(Oil::typical().unwrap(), Pressure::constant(1e6), celsius(93.0), None).unwrap();
    let annulus = |reading: f64, land: Option<Land>| {
        let context = Context { kind: None, land, oil: Some(oil) };
        let assessment = assess(&[inhg(reading)], &bench, &context).unwrap();
        assert!(assessment.hole_oil_m3_s.unwrap().estimate().is_some());
        assessment.gap_oil_m3_s.unwrap()
    };
    let turbulent = Interpretation::OutOfDomain { out_of_domain: OutOfDomain::OilTurbulent };
    for land in [Some(land), None] {
        assert!(annulus(20.0, land).estimate().is_some());
        assert_eq!(annulus(0.2, land), turbulent);
    }
}

#[test]
fn a_gap_loses_less_oil_than_a_hole() {
    let bench = Bench::new(rig(25.0, 5.0, STANDARD_PRESSURE), Dial::USUAL);
    let oil = Oil::typical().unwrap();
    let oil = OilState::new(oil, Pressure::constant(1e6), celsius(93.0), None).unwrap();
    let context = Context { kind: None, land: None, oil: Some(oil) };
    let assessment = assess(&[inhg(18.0)], &bench, &context).unwrap();
    let hole = assessment.hole_oil_m3_s.unwrap().estimate().unwrap();
    assert!(hole.low < hole.value && hole.value < hole.high);
    let gap = assessment.gap_oil_m3_s.unwrap().estimate().unwrap();
    assert!(gap.value < hole.value);
}

#[test]
fn the_curve_falls_from_drill_to_drill() {
    let bench = Bench::new(rig(25.0, 5.0, STANDARD_PRESSURE), Dial::USUAL);
    let rows = curve(&bench).unwrap();
    assert!(rows.windows(2).all(|pair| pair[0].reading_pa.value > pair[1].reading_pa.value));
    let own = rows.iter().find(|row| row.drill.name == "65").unwrap();
    close(own.reading_pa.value, inhg(5.0).si(), 1e-12);
    // 0.035 in at 5 inHg and 20 °C: 113.57 mg/s through an ideal nozzle.
    close(own.air_standard_flow_m3_s, 113.5698e-6 * 0.82 / 1.204097, 1e-4);
    let line = curve_line(&bench, Length::constant(0.05 * INCH), 20).unwrap();
    assert_eq!(line.len(), 20);
    close(line[13].0.si(), 0.035 * INCH, 1e-12);
    close(line[13].1.value, inhg(5.0).si(), 1e-12);
}

#[test]
fn a_leak_and_its_reading_are_inverse_for_plug_and_plate() {
    let hole = Travel::of(&Context { kind: Some(LeakKind::Hole), ..Context::default() });
    for kind in [OrificeKind::Plug, OrificeKind::Plate] {
        let orifice = Orifice::new(Length::constant(0.030 * INCH), kind).unwrap();
        let rig = Calibration::new(inhg(24.5), inhg(5.2), orifice, inhg(29.5), celsius(25.0)).unwrap();
        for reading in [0.3, 1.0, 5.0, 12.0, 14.1, 20.0, 24.4] {
            let leak = rig.leak_at(inhg(reading)).unwrap();
            close(rig.reading_at(leak).unwrap().si(), inhg(reading).si(), 1e-12);
            let standard = Pressure::constant(rig.at(inhg(reading)).unwrap().standard_reading());
            let back = hole.of_standard(standard, &rig).unwrap();
            close(back.si(), inhg(reading).si(), 1e-12);
        }
    }
}

#[test]
fn a_scaled_rig_reads_the_same_leak_at_any_altitude() {
    let low = rig(25.0, 5.0, STANDARD_PRESSURE);
    let elevation = Length::constant(1609.344);
    let barometer = Barometer::new(BarometerSource::Elevation { elevation }).unwrap();
    let scale = barometer.station().si() / STANDARD_PRESSURE;
    let high = rig(25.0 * scale, 5.0 * scale, barometer.station().si());
    for reading in [0.5, 4.0, 12.0, 22.0, 24.9] {
        let here = low.leak_at(inhg(reading)).unwrap();
        close(high.leak_at(inhg(reading * scale)).unwrap(), here, 1e-9);
        close(high.at(inhg(reading * scale)).unwrap().standard_reading(), inhg(reading).si(), 1e-9);
    }
}

#[test]
fn verdicts_follow_the_reading_and_admit_doubt() {
    let bench = Bench::new(rig(25.0, 5.0, STANDARD_PRESSURE), Dial::USUAL);
    let limits = Limits::new(inhg(20.0), inhg(15.0)).unwrap();
    let verdict = |reading: f64| {
        let assessment = assess(&[inhg(reading)], &bench, &Context::default()).unwrap();
        let judgement = judge(&assessment, &limits, 0.95);
        close(judgement.above + judgement.between + judgement.below, 1.0, 1e-12);
        assert_eq!(judgement.advice.is_some(), judgement.verdict == Verdict::Retest);
        judgement.verdict
    };
    assert_eq!(verdict(23.0), Verdict::Holds);
    assert_eq!(verdict(17.5), Verdict::Worn);
    assert_eq!(verdict(10.0), Verdict::Leaks);
    assert_eq!(verdict(20.0), Verdict::Retest);
    assert_eq!(verdict(15.1), Verdict::Retest);
}
