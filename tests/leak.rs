//! The leak of a reading: closed form, inverse, refusals, verdicts.

use spoolproof::air::{Barometer, BarometerSource, STANDARD_PRESSURE};
use spoolproof::leak::{Bench, Context, Limits, Verdict, assess, judge};
use spoolproof::quantity::{INCH, INCH_OF_MERCURY, Length, Pressure, Temperature};
use spoolproof::rig::{Calibration, CalibrationError, Dial, Orifice, OrificeKind, ReadingError};

fn inhg(number: f64) -> Pressure {
    Pressure::constant(number * INCH_OF_MERCURY)
}

fn celsius(number: f64) -> Temperature {
    Temperature::constant(number + 273.15)
}

fn rig(plugged: f64, through: f64, barometer: f64) -> Calibration {
    Calibration::new(
        inhg(plugged),
        inhg(through),
        Orifice::STANDARD,
        Pressure::constant(barometer),
        celsius(20.0),
    )
    .expect("a calibration")
}

#[track_caller]
fn close(found: f64, expected: f64, relative: f64) {
    assert!((found - expected).abs() <= relative * expected.abs(), "{found} is not {expected}");
}

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
fn a_leak_and_its_reading_are_inverse_for_plug_and_plate() {
    for kind in [OrificeKind::Plug, OrificeKind::Plate] {
        let orifice = Orifice::new(Length::constant(0.030 * INCH), kind).unwrap();
        let rig = Calibration::new(inhg(24.5), inhg(5.2), orifice, inhg(29.5), celsius(25.0)).unwrap();
        for reading in [0.3, 1.0, 5.0, 12.0, 14.1, 20.0, 24.4] {
            let leak = rig.leak_at(inhg(reading)).unwrap();
            close(rig.reading_at(leak).unwrap().si(), inhg(reading).si(), 1e-12);
            let standard = rig.standard_reading(inhg(reading)).unwrap();
            close(rig.from_standard(standard).unwrap().si(), inhg(reading).si(), 1e-12);
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
        close(high.standard_reading(inhg(reading * scale)).unwrap().si(), inhg(reading).si(), 1e-9);
    }
}

#[test]
fn verdicts_follow_the_reading_and_admit_doubt() {
    let bench = Bench::new(rig(25.0, 5.0, STANDARD_PRESSURE), Dial::USUAL);
    let limits = Limits::new(inhg(20.0), inhg(15.0)).unwrap();
    let verdict = |reading: f64| {
        let assessment = assess(&[inhg(reading)], &bench, &Context::default()).unwrap();
        let judgement = judge(&assessment, &limits, 0.95);
        close(judgement.holds + judgement.worn + judgement.leaks, 1.0, 1e-12);
        assert_eq!(judgement.advice.is_some(), judgement.verdict == Verdict::Retest);
        judgement.verdict
    };
    assert_eq!(verdict(23.0), Verdict::Holds);
    assert_eq!(verdict(17.5), Verdict::Worn);
    assert_eq!(verdict(10.0), Verdict::Leaks);
    assert_eq!(verdict(20.0), Verdict::Retest);
    assert_eq!(verdict(15.1), Verdict::Retest);
}
