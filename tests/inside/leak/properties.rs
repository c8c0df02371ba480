//! Properties that hold for every rig and reading: order, inverses, invariance, and no panic on any number.

use crate::air::{Barometer, BarometerSource, Clearance, depth_at, flow_function, opening, station_pressure};
use crate::leak::*;
use crate::oil::{Oil, ViscosityPoint, Walther, annulus_flow, hole_flow};
use crate::quantity::{INCH, Length, Pressure, Temperature, Viscosity};
use crate::rig::{Calibration, Dial, Grade, Orifice, OrificeKind};
use crate::tests::support::{close, inhg};
use proptest::prelude::*;

fn kind() -> impl Strategy<Value = OrificeKind> {
    prop_oneof![Just(OrificeKind::Plug), Just(OrificeKind::Plate)]
}

/// A calibrated rig under 60 to 105 kPa, with points as shares of the barometer.
fn rig() -> impl Strategy<Value = Calibration> {
    (0.3..0.95, 0.05..0.8, 60e3..105e3, 0.4e-3..3e-3, kind(), 263.0..313.0).prop_map(
        |(plugged, share, station, bore, kind, temperature): (f64, f64, f64, f64, OrificeKind, f64)| {
            Calibration::new(
                Pressure::constant(plugged * station),
                Pressure::constant(plugged * share * station),
                Orifice::new(Length::constant(bore), kind).expect("an orifice"),
                Pressure::constant(station),
                Temperature::constant(temperature),
            )
            .expect("a calibration")
        },
    )
}

fn grade() -> impl Strategy<Value = Dial> {
    (0..Grade::all().count(), 0.1..2.0).prop_map(|(grade, division)| {
        Dial::new(Grade::all().nth(grade).expect("a grade"), inhg(30.0), inhg(division)).expect("a dial")
    })
}

fn context() -> Context {
    let land = Land::new(Length::constant(0.5 * INCH), Length::constant(0.3 * INCH), 0.3).expect("a land");
    let (oil, pressure) = (Oil::typical().expect("an oil"), Pressure::constant(1e6));
    let oil = OilState::new(oil, pressure, Temperature::constant(366.0), None);
    Context { kind: None, land: Some(land), oil: Some(oil.expect("oil at work")) }
}

proptest! {
    #[test]
    fn more_vacuum_is_less_leak(rig in rig(), shares in (0.001..1.0, 0.001..1.0)) {
        let at = |share: f64| rig.leak_at(Pressure::constant(share * rig.plugged().si())).unwrap();
        let (one, other) = shares;
        if one < other {
            prop_assert!(at(one) >= at(other));
        }
    }

    #[test]
    fn a_reading_becomes_a_hole_and_the_hole_the_reading(rig in rig(), share in 0.001..0.999) {
        let reading = Pressure::constant(share * rig.plugged().si());
        let hole = rig.hole(rig.leak_at(reading).unwrap());
        let leak = (hole / rig.orifice().diameter().si()).powi(2);
        close(rig.reading_at(leak).unwrap().si(), reading.si(), 1e-10);
        let standard = Pressure::constant(rig.at(reading).unwrap().standard_reading());
        let hole = Travel::of(&Context { kind: Some(LeakKind::Hole), ..Context::default() });
        close(hole.of_standard(standard, &rig).unwrap().si(), reading.si(), 1e-10);
    }

    #[test]
    fn temperature_and_altitude_leave_the_leak_alone(
        rig in rig(),
        share in 0.001..0.999,
        station in 50e3..105e3,
        kelvin in 240.0..330.0,
    ) {
        let scale = station / rig.barometer().si();
        let scaled = |pressure: Pressure| Pressure::constant(pressure.si() * scale);
        let (room, air) = (Pressure::constant(station), Temperature::constant(kelvin));
        let (plugged, through) = (scaled(rig.plugged()), scaled(rig.through()));
        let elsewhere = Calibration::new(plugged, through, rig.orifice(), room, air).unwrap();
        let reading = Pressure::constant(share * rig.plugged().si());
        let (here, there) = (rig.leak_at(reading).unwrap(), elsewhere.leak_at(scaled(reading)).unwrap());
        prop_assert!((here - there).abs() <= 1e-9 * here + 1e-13 * rig.inlet_relative());
    }

    #[test]
    fn intervals_hold_their_values_and_are_finite(
        rig in rig(),
        dial in grade(),
        shares in prop::collection::vec(0.001..1.0, 1..5),
    ) {
        let readings: Vec<_> =
            shares.iter().map(|share| Pressure::constant(share * rig.plugged().si())).collect();
        let bench = Bench::new(rig, dial);
        let assessment = assess(&readings, &bench, &context()).unwrap();
        let mut estimates = vec![
            assessment.relative_leak,
            assessment.hole_m,
            assessment.standard_reading_pa,
            assessment.air_kg_s,
        ];
        let meanings =
            [assessment.clearance_m, assessment.gap_oil_m3_s, assessment.hole_oil_m3_s];
        for meaning in meanings {
            match meaning.unwrap() {
                Interpretation::Value(estimate) => estimates.push(estimate),
                Interpretation::OutOfDomain { out_of_domain } => prop_assert!(out_of_domain.to_string().len() > 20),
            }
        }
        for estimate in estimates {
            prop_assert!(estimate.high.is_finite());
            prop_assert!(0.0 <= estimate.low && estimate.low <= estimate.value && estimate.value <= estimate.high);
        }
        let limits = Limits::new(inhg(20.0), inhg(15.0)).unwrap();
        let judgement = judge(&assessment, &limits, 0.95);
        prop_assert!((judgement.above + judgement.between + judgement.below - 1.0).abs() < 1e-9);
    }

    #[test]
    fn the_slopes_are_those_of_the_figures(rig in rig(), share in 0.02..0.98) {
        let vacuum = share * rig.plugged().si();
        // Nowhere near the corner where the flow turns sonic.
        let corners = [vacuum, rig.through().si(), rig.plugged().si()]
            .map(|vacuum| (1.0 - vacuum / rig.barometer().si() - 0.528).abs());
        prop_assume!(corners.into_iter().all(|distance| distance > 1e-3));
        let step = 1e-6;
        let moved = |reading: f64, plugged: f64, through: f64, station: f64| {
            let by = |pressure: Pressure, share: f64| Pressure::constant(pressure.si() * (1.0 + share));
            let (plugged, through) = (by(rig.plugged(), plugged), by(rig.through(), through));
            let room = by(rig.barometer(), station);
            let rig = Calibration::new(plugged, through, rig.orifice(), room, rig.temperature()).unwrap();
            let point = rig.at(Pressure::constant(vacuum * (1.0 + reading))).unwrap();
            let orifice = rig.orifice().effective_area(rig.through_ratio());
            let squares = vacuum * (1.0 + reading) * (2.0 * rig.barometer().si() - vacuum * (1.0 + reading));
            [point.leak(), point.area() * orifice, point.flow() * orifice, point.flow() * orifice / squares]
        };
        let point = rig.at(Pressure::constant(vacuum)).unwrap();
        let orifice = rig.orifice().effective_area(rig.through_ratio());
        let figures = [
            point.leak_sensitivity(),
            point.area_sensitivity().scaled(orifice),
            point.flow_sensitivity().scaled(orifice),
            point.gap_sensitivity().scaled(orifice),
        ];
        for (place, figure) in figures.into_iter().enumerate() {
            let slope = |shift: [f64; 4]| {
                let [a, b, c, d] = shift.map(|one| one * step);
                let up = moved(a, b, c, d)[place];
                let down = moved(-a, -b, -c, -d)[place];
                (up - down) / (2.0 * step)
            };
            let size = figure.by_reading.abs() * vacuum
                + figure.by_plugged.abs() * rig.plugged().si()
                + figure.by_through.abs() * rig.through().si();
            let near = |found: f64, expected: f64| (found - expected).abs() <= 1e-5 * size;
            prop_assert!(near(slope([1.0, 0.0, 0.0, 0.0]), figure.by_reading * vacuum));
            prop_assert!(near(slope([0.0, 1.0, 0.0, 0.0]), figure.by_plugged * rig.plugged().si()));
            prop_assert!(near(slope([0.0, 0.0, 1.0, 0.0]), figure.by_through * rig.through().si()));
            prop_assert!(near(slope([0.0, 0.0, 0.0, 1.0]), figure.by_barometer));
            prop_assert!(near(slope([1.0, 1.0, 1.0, 0.0]), figure.by_gain));
        }
    }

    #[test]
    fn no_number_makes_it_panic(numbers in prop::array::uniform6(prop::num::f64::ANY)) {
        let [a, b, c, d, e, f] = numbers;
        let pressures = numbers.map(Pressure::from_si);
        let _ = (flow_function(a), opening(a), depth_at(a), station_pressure(a, b), hole_flow(a, b, c));
        let _ = annulus_flow(a, b, c, d, e);
        if let (Some(length), Some(other), Some(kelvin)) =
            (Length::from_si(a), Length::from_si(b), Temperature::from_si(c))
        {
            let _ = Orifice::new(length, OrificeKind::Plate);
            let _ = Orifice::with_tolerance(length, OrificeKind::Plug, other);
            let _ = Land::new(length, other, d);
            let _ = Barometer::new(BarometerSource::Elevation { elevation: length });
            if let (Some(room), Some(viscosity)) = (Pressure::from_si(d), Viscosity::from_si(e)) {
                let way = Clearance::new(length, other, e, room, kelvin);
                let _ = (way.of_flow(e, f), way.flow(e, f));
                let point = ViscosityPoint { temperature_k: kelvin, viscosity_m2_s: viscosity };
                let _ = Walther::new([point, point]);
            }
        }
        let spread = Spread { normal: a.abs(), rectangle: b.abs() };
        let _ = (spread.below(c), spread.interval(d, e, f));
        if let [Some(plugged), Some(through), Some(station), Some(reading), Some(holds), Some(leaks)] = pressures {
            let kelvin = Temperature::constant(293.15);
            let _ = Limits::new(holds, leaks);
            let _ = Barometer::new(BarometerSource::Station { pressure: station });
            let elevation = Length::from_si(d).expect("six finite numbers");
            let _ = Barometer::new(BarometerSource::AltimeterSetting { setting: station, elevation });
            let _ = Calibration::new(plugged, through, Orifice::STANDARD, station, kelvin);
            let standard = Calibration::standard();
            let _ = (standard.leak_at(reading), standard.reading_at(a), Travel::default().of_standard(reading, &standard));
            let _ = Dial::new(Grade::AsmeB, plugged, through);
            let bench = Bench::new(standard, Dial::USUAL);
            let _ = assess(&[reading], &bench, &context());
            let _ = bench.with_drift(through);
        }
    }

    #[test]
    fn a_usual_number_of_inches_never_panics(readings in prop::collection::vec(-5.0..35.0, 0..4)) {
        let bench = Bench::new(Calibration::standard(), Dial::USUAL);
        let readings: Vec<_> = readings.into_iter().map(inhg).collect();
        if let Ok(assessment) = assess(&readings, &bench, &context()) {
            let limits = Limits::new(inhg(20.0), inhg(15.0)).unwrap();
            let _ = judge(&assessment, &limits, f64::NAN);
        }
    }
}
