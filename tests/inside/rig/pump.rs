//! The pump: strong enough not to matter, or solved with the rest.

use crate::air::{CRITICAL_FLOW, GAS_CONSTANT};
use crate::quantity::{INCH_OF_MERCURY, Pressure, VolumeFlow};
use crate::rig::simulated::{Load, Settings, SimulatedRig};
use crate::rig::*;
use crate::tests::support::{close, inhg};

/// A rig with a perfect dial and eye, valves as real as any, and this pump.
fn rig(pump: Pump, critical_ratio: f64) -> SimulatedRig {
    let mut settings = Settings { pump_speed: pump.speed, pump_ultimate: pump.ultimate, ..Settings::ideal() };
    settings.inlet.critical_ratio = Some(critical_ratio);
    SimulatedRig::calibrated(1, settings, inhg(25.0), inhg(5.0))
}

fn pump(speed: f64, ultimate: f64) -> Pump {
    Pump { speed: VolumeFlow::constant(speed), ultimate: Pressure::constant(ultimate) }
}

fn checked(calibration: &Calibration, pump: &Pump) -> PumpCheck {
    PumpCheck::of(calibration, RelativePump::of(pump, calibration).as_ref())
}

#[test]
fn the_needed_speed_is_that_of_the_formula() {
    // S = A_i Phi* sqrt(RT)/(b - p_ult/p), in SI, against the relative form.
    let calibration = Calibration::standard();
    let (ultimate, through) = (500.0, 101_325.0 - inhg(5.0).si());
    let thermal = (GAS_CONSTANT * 293.15).sqrt();
    let area = calibration.orifice().effective_area(through / 101_325.0);
    let speed = calibration.inlet_relative() * area * CRITICAL_FLOW * thermal / (0.3 - ultimate / through);
    let needed =
        RelativePump::needed(calibration.inlet_relative(), through / 101_325.0, ultimate / 101_325.0, 0.3);
    let relative = RelativePump::of(&pump(speed, ultimate), &calibration).expect("a pump");
    close(relative.strength, needed.expect("it can be"), 1e-12);
}

#[test]
fn a_pump_that_does_through_the_orifice_can_still_fall_short_plugged() {
    let calibration = Calibration::standard();
    let check = |speed, ultimate| checked(&calibration, &pump(speed, ultimate));
    assert!(matches!(check(1.4e-3, 100.0), PumpCheck::Sonic { margin } if margin > 2.0));
    assert!(matches!(check(2.0e-4, 100.0), PumpCheck::NotSonic { at_through: false, .. }));
    // 4 kPa is little beside 84 kPa and a quarter of 17 kPa.
    assert!(matches!(check(1.4e-3, 4000.0), PumpCheck::NotSonic { at_through: true, .. }));
    assert_eq!(PumpCheck::of(&calibration, None), PumpCheck::Unknown);
}

#[test]
fn a_rig_that_passes_the_check_does_not_feel_its_pump() {
    // Common practice, no source: on a sound rig the reading does not depend on the pump.
    let shown = |speed: f64| {
        let mut rig = rig(pump(1.4e-3, 100.0), 0.3);
        let mut settings = rig.settings().clone();
        settings.pump_speed = VolumeFlow::constant(speed);
        let (inlet, bleed) = (rig.position(Valve::Inlet), rig.position(Valve::Bleed));
        let calibration = rig.calibration();
        let mut other = SimulatedRig::new(1, settings);
        other.turn_to(Valve::Inlet, inlet);
        other.turn_to(Valve::Bleed, bleed);
        let loads = [Load::Plugged, Load::Leak(0.3), Load::Orifice];
        (checked(&calibration, &pump(speed, 100.0)), loads.map(|load| other.read_with(load).si()))
    };
    let (_, reference) = shown(1.4e-3);
    let (mut passed, mut failed) = (0, 0);
    for step in 1..40 {
        let (check, readings) = shown(0.05e-3 * f64::from(step));
        let moved = readings.iter().zip(reference).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        match check {
            PumpCheck::Sonic { .. } => {
                passed += 1;
                assert!(moved < 1.0, "moved by {moved} Pa");
            }
            _ => {
                failed += 1;
                assert!(moved > 1.0, "a pump that fails the check shows, but only {moved} Pa");
            }
        }
    }
    assert!(passed > 5 && failed > 3, "{passed} and {failed}");
}

#[test]
fn the_full_balance_returns_the_leak_where_the_closed_form_does_not() {
    let weak = pump(1.4e-4, 6000.0);
    // The balance takes the highest critical ratio.
    let mut rig = rig(weak, 0.5);
    let calibration = rig.calibration();
    assert!(matches!(checked(&calibration, &weak), PumpCheck::NotSonic { .. }));
    let balance = calibration.with_pump(Some(&weak)).expect("its own pump");
    let area = |valve: Valve| match valve {
        Valve::Inlet => rig.settings().inlet.area_at(rig.position(valve)),
        Valve::Bleed => rig.settings().bleed.area_at(rig.position(valve)),
    };
    let orifice = rig.settings().orifice.effective_area(0.8);
    close(balance.inlet_relative(), area(Valve::Inlet) / orifice, 1e-6);
    close(balance.bleed_relative(), area(Valve::Bleed) / orifice, 1e-6);
    let mut worst: f64 = 0.0;
    for leak in [0.02, 0.1, 0.3, 0.6] {
        let reading = rig.read_with(Load::Leak(leak));
        close(balance.leak_at(reading).expect("a sound reading"), leak, 1e-6);
        let expected = balance.reading_at(leak).expect("a leak");
        assert!((expected.si() - reading.si()).abs() < 0.1, "{expected} for {reading}");
        worst = worst.max((calibration.leak_at(reading).expect("a sound reading") / leak - 1.0).abs());
    }
    assert!(worst > 0.03, "the closed form is off by {worst}");
}

#[test]
fn a_strong_pump_leaves_the_closed_form() {
    let calibration = Calibration::standard();
    assert_eq!(calibration.with_pump(Some(&pump(0.05, 0.0))), Ok(calibration));
    assert_eq!(calibration.with_pump(None), Ok(calibration));
}

#[test]
fn the_full_balance_meets_the_closed_form_where_the_valve_just_turns_sonic() {
    let calibration = Calibration::standard();
    let margin = |speed| match checked(&calibration, &pump(speed, 100.0)) {
        PumpCheck::Sonic { margin } | PumpCheck::NotSonic { margin, .. } => margin,
        PumpCheck::Unknown => f64::NAN,
    };
    let just_too_weak = pump(1e-3 / margin(1e-3) * 0.999, 100.0);
    let balance = calibration.with_pump(Some(&just_too_weak)).expect("a pump");
    assert!(balance.pump().is_some());
    close(balance.inlet_relative(), calibration.inlet_relative(), 1e-3);
    for reading in [24.9, 20.0, 12.0, 5.0, 2.0] {
        let [closed, full] = [calibration, balance].map(|rig| rig.leak_at(inhg(reading)).expect("a reading"));
        close(full, closed, 1e-3);
    }
    assert!(balance.leak_at(inhg(26.0)).is_err(), "above the plugged point");
}

#[test]
fn the_derivatives_of_the_full_balance_are_those_of_its_figures() {
    let weak = pump(1.4e-4, 6000.0);
    let rig = |plugged: f64, through: f64| {
        let standard = Calibration::standard();
        let (orifice, air) = (standard.orifice(), standard.temperature());
        let closed = Calibration::new(inhg(plugged), inhg(through), orifice, standard.barometer(), air)
            .expect("a pair");
        closed.with_pump(Some(&weak)).expect("its pump")
    };
    type Figure = (fn(&OperatingPoint) -> f64, fn(&OperatingPoint) -> Sensitivity);
    let figures: [Figure; 2] =
        [(|at| at.leak(), |at| at.leak_sensitivity()), (|at| at.flow(), |at| at.flow_sensitivity())];
    for reading in [23.0, 18.0, 10.0, 6.0] {
        for (figure, sensitivity) in figures {
            let at = |plugged, through, reading| {
                figure(&rig(plugged, through).at(inhg(reading)).expect("a reading"))
            };
            let step = 1e-3;
            let slope = |more: f64, less: f64| (more - less) / (2.0 * step * INCH_OF_MERCURY);
            let stated = sensitivity(&rig(25.0, 5.0).at(inhg(reading)).expect("a reading"));
            let found = [
                slope(at(25.0, 5.0, reading + step), at(25.0, 5.0, reading - step)),
                slope(at(25.0 + step, 5.0, reading), at(25.0 - step, 5.0, reading)),
                slope(at(25.0, 5.0 + step, reading), at(25.0, 5.0 - step, reading)),
            ];
            let stated = [stated.by_reading, stated.by_plugged, stated.by_through];
            for (stated, found) in stated.into_iter().zip(found) {
                close(stated, found, 1e-3);
            }
        }
    }
}

#[test]
fn without_data_the_refusal_names_the_measurement_that_supplies_them() {
    let text = PumpCheck::Unknown.to_string();
    for word in ["hut the bleed valve", "open the inlet valve", "plugged", "through the test orifice"] {
        assert!(text.contains(word), "{word} in {text}");
    }
    let toy = pump(1e-5, 0.0);
    let [plugged, through] = [25.0, 5.0].map(|inhg| Pressure::constant(inhg * INCH_OF_MERCURY));
    let refused = CalibrationError::PumpContradicted { plugged, through };
    assert_eq!(Calibration::standard().with_pump(Some(&toy)), Err(refused));
}

#[test]
fn two_readings_with_the_inlet_open_measure_the_pump() {
    for (speed, ultimate) in [(2.5e-4, 200.0), (4.0e-4, 2000.0), (8.0e-4, 100.0)] {
        let truth = pump(speed, ultimate);
        let mut rig = rig(truth, 0.3);
        let calibration = rig.calibration();
        rig.turn_to(Valve::Bleed, 0.0);
        rig.turn_to(Valve::Inlet, 8.0);
        let (plugged, through) = (rig.read_with(Load::Plugged), rig.read_with(Load::Orifice));
        let Settings { orifice, barometer, temperature, .. } = *rig.settings();
        let measured = RelativePump::measured(plugged, through, barometer).expect("a pump that pulls");
        let truth = RelativePump::of(&truth, &calibration).expect("a pump");
        assert!((measured.ultimate - truth.ultimate).abs() < 1e-6, "{measured:?}, {truth:?}");
        // The open inlet valve is in series, so the pump comes out weaker than it is, never stronger.
        let share = measured.strength / truth.strength;
        assert!((0.6..=1.000_001).contains(&share), "{share} of the strength at {speed} m3/s");
        let found = Pump::of(&measured, &orifice, barometer, temperature).expect("a pump");
        close(found.speed.si(), share * speed, 1e-6);
        assert!((found.ultimate.si() - ultimate).abs() < 0.1, "{found:?}");
    }
    assert_eq!(RelativePump::measured(inhg(5.0), inhg(25.0), inhg(29.9)), None);
}

/// How a pump's flow goes with the pressure y on its side, both over the room's.
type PumpLaw = fn(f64) -> f64;

/// Vane, weak diaphragm and ejector pumps, by test orifices of flow: what they move, and the least that they reach.
/// Straight lines, and for ejectors a curve that falls off towards their end as well; common practice, no source.
const PUMPS: [(&str, PumpLaw, f64); 6] = [
    ("vane", |y| 6.0 * (y - 0.003), 0.003),
    ("worn vane", |y| 3.0 * (y - 0.003), 0.003),
    ("diaphragm", |y| 8.0 * (y - 0.08), 0.08),
    ("weak diaphragm", |y| 5.0 * (y - 0.1), 0.1),
    ("weak ejector", |y| 4.0 * (1.0 - ((1.0 - y) / 0.91).powi(2)), 0.09),
    ("strong ejector", |y| 8.0 * (1.0 - ((1.0 - y) / 0.91).powi(2)), 0.09),
];

fn bisected(mut low: f64, mut high: f64, rises: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if rises(middle) > 0.0 { high = middle } else { low = middle }
    }
    0.5 * (low + high)
}

/// ISO 6358's law of a needle valve, and the isentropic nozzle's: their own lines here.
fn needle(ratio: f64, critical_ratio: f64) -> f64 {
    let beyond = ((ratio - critical_ratio) / (1.0 - critical_ratio)).clamp(0.0, 1.0);
    0.684_731_456 * (1.0 - beyond * beyond).sqrt()
}

fn nozzle(ratio: f64) -> f64 {
    let ratio = ratio.clamp(0.528_281_788, 1.0);
    (7.0 * (ratio.powf(2.0 / 1.4) - ratio.powf(2.4 / 1.4))).sqrt()
}

/// What has to be open to the air, in test orifices, for a rig with this inlet valve and pump to rest at a pressure.
fn open(pump: PumpLaw, ultimate: f64, inlet: f64, critical_ratio: f64, pressure: f64) -> f64 {
    let passed = |y: f64| inlet * pressure * needle(y / pressure, critical_ratio);
    let y = bisected(ultimate, pressure, |y| pump(y) - passed(y));
    pump(y) / nozzle(pressure)
}

#[test]
fn a_correction_for_the_pump_is_no_worse_than_none_whatever_the_inlet_valve_is() {
    let barometer = Pressure::constant(101_325.0);
    let depth = |vacuum: f64| 1.0 - inhg(vacuum).si() / 101_325.0;
    let mut most_gained: f64 = 0.0;
    for (name, pump, ultimate) in PUMPS {
        for critical_ratio in [0.2, 0.3, 0.4, 0.5] {
            // As the technician measures it: bleed shut, inlet valve wide open, plugged and through the orifice.
            let loaded = bisected(ultimate, 1.0, |x| open(pump, ultimate, 30.0, critical_ratio, x) - 1.0);
            let plugged = Pressure::constant((1.0 - ultimate) * 101_325.0);
            let measured =
                RelativePump::measured(plugged, Pressure::constant((1.0 - loaded) * 101_325.0), barometer)
                    .expect("a pump");
            let entered =
                Pump::of(&measured, &Orifice::STANDARD, barometer, Calibration::standard().temperature());
            // As it is set: 25 plugged and 5 through, one orifice apart.
            let inlet = bisected(1e-3, 300.0, |inlet| {
                let at = |vacuum| open(pump, ultimate, inlet, critical_ratio, depth(vacuum));
                at(5.0) - at(25.0) - 1.0
            });
            let closed = Calibration::standard();
            let corrected = closed.with_pump(entered.as_ref()).expect("a pump that did it");
            for vacuum in [22.0, 18.0, 14.0, 10.0] {
                let at = |vacuum| open(pump, ultimate, inlet, critical_ratio, depth(vacuum));
                let leak = at(vacuum) - at(25.0);
                let off =
                    |rig: &Calibration| (rig.area_at(inhg(vacuum)).expect("a reading") / leak - 1.0).abs();
                let (without, with) = (off(&closed), off(&corrected));
                assert!(
                    with <= without + 2e-3,
                    "{name}, b {critical_ratio}, {vacuum}: {with} after {without}"
                );
                most_gained = most_gained.max(without - with);
            }
        }
    }
    assert!(most_gained > 0.03, "it helps somewhere: {most_gained}");
}

#[test]
fn of_a_pump_that_was_entered_nothing_false_is_said() {
    let calibration = Calibration::standard();
    let text = checked(&calibration, &pump(2.0e-3, 9000.0)).to_string();
    assert!(!text.contains(" 0 %") && text.contains("does not pull deep enough"), "{text}");
    let text = checked(&calibration, &pump(2.0e-4, 100.0)).to_string();
    assert!(text.contains("% of what it takes"), "{text}");
}

#[test]
fn two_points_too_close_to_tell_leaks_apart_are_no_calibration() {
    let close = Calibration::new(
        inhg(12.5),
        inhg(12.4),
        Orifice::STANDARD,
        Pressure::constant(101_325.0),
        Calibration::standard().temperature(),
    );
    assert!(close.unwrap_err().to_string().contains("too close to tell one leak from another"));
}
