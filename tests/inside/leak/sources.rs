//! What each source of error is taken to be, against literal figures: the design's for plugs, common practice
//! where no source is named.

use crate::air::{Barometer, BarometerSource};
use crate::leak::{Assessment, Bench, Context, LeakKind, OilState, assess};
use crate::oil::Oil;
use crate::quantity::{INCH_OF_MERCURY, Length, Pressure};
use crate::rig::{Calibration, Dial, Grade, Orifice, OrificeKind, Repeatability};
use crate::tests::support::{celsius, inhg};

const HOLE: Context = Context { kind: Some(LeakKind::Hole), land: None, oil: None };

/// A bench of which hardly anything but its plug's coefficient is uncertain.
fn fine() -> Bench {
    let bore_known =
        Orifice::with_tolerance(Orifice::STANDARD.diameter(), OrificeKind::Plug, Length::constant(0.0));
    let room = Pressure::constant(101_325.0);
    let orifice = bore_known.expect("an orifice");
    let calibration = Calibration::new(inhg(25.0), inhg(5.0), orifice, room, celsius(20.0)).expect("a pair");
    let dial = Dial::new(Grade::En0_1, inhg(30.0), inhg(0.01)).expect("a dial");
    Bench::new(calibration, dial).with_barometer_uncertainty(Pressure::constant(0.0))
}

fn read(bench: &Bench, reading: f64) -> Assessment {
    assess(&[inhg(reading)], bench, &HOLE).expect("a reading")
}

#[test]
fn a_plugs_coefficient_is_known_to_0_03_of_0_82_and_changes_by_3_percent_at_most() {
    let assessed = read(&fine(), 12.0);
    let half = |figure: crate::leak::Estimate| (figure.high - figure.low) / 2.0 / figure.value;
    // A rectangle alone reaches 95 % of its half-width: 0.95 * 0.03/0.82 = 0.0348; little is added.
    let flow = half(assessed.air_kg_s);
    assert!((0.0345..0.042).contains(&flow), "{flow}");
    // At 12 inHg the pressure ratio is 0.599: 0.767 of the way from the through point's 0.833 to sonic 0.528. So the
    // leak is open by 0.95 * 0.767 * 0.03 = 0.0219 at least.
    let leak = half(assessed.relative_leak);
    assert!((0.0215..0.032).contains(&leak), "{leak}");
}

#[test]
fn a_barometer_is_known_to_100_pascals_in_the_room_and_to_1000_from_the_elevation() {
    // What a reading means where the air weighs that much more, against what the budget says.
    let at = |station: f64| {
        let station = Pressure::constant(station);
        let pair = Calibration::new(inhg(25.0), inhg(5.0), Orifice::STANDARD, station, celsius(20.0));
        Bench::new(pair.expect("a pair"), Dial::USUAL)
    };
    let moved = |by: f64| {
        let shown = |station| read(&at(station), 15.0).standard_reading_pa.value;
        (shown(101_325.0 + by) - shown(101_325.0 - by)).abs() / 2.0
    };
    let budget = |uncertainty: Pressure| {
        read(&at(101_325.0).with_barometer_uncertainty(uncertainty), 15.0).budget.barometer
    };
    let uncertainty = |source| Barometer::new(source).expect("a barometer").uncertainty();
    let elevation = uncertainty(BarometerSource::Elevation { elevation: Length::constant(0.0) });
    assert!((budget(elevation) / moved(1000.0) - 1.0).abs() < 0.02, "{}", budget(elevation));
    let room = uncertainty(BarometerSource::Station { pressure: Pressure::constant(101_325.0) });
    assert!((budget(room) / moved(100.0) - 1.0).abs() < 0.02, "{}", budget(room));
    // So it is where nobody says how it was read.
    assert!((read(&at(101_325.0), 15.0).budget.barometer / moved(100.0) - 1.0).abs() < 0.02);
}

#[test]
fn the_usual_dial_is_rounded_to_quarters_of_its_half_inches_and_shares_out_its_grade() {
    let budget = read(&Bench::new(Calibration::standard(), Dial::USUAL), 15.0).budget;
    let limit = |deviation: f64| 3.0_f64.sqrt() * deviation / INCH_OF_MERCURY;
    // A quarter of 0.5 inHg is rounded by up to 0.0625 either way; the standard rig is read as it is.
    assert!((limit(budget.resolution) - 0.0625).abs() < 1e-6);
    // By hand for grade B over 30 inHg: 0.6 in the middle half, hysteresis 0.3, of which 0.24 at each look; 0.4 of the
    // square left to an offset: sqrt(0.4 (0.36 - 0.0576)) = 0.3478, and as much to a gain at 22.5 inHg: 0.015457 of the
    // reading. Outside it 0.9, of which 0.3 is 0.27 at each look.
    let dial = Dial::USUAL;
    assert!((dial.offset_limit() / INCH_OF_MERCURY - 0.3478).abs() < 1e-4);
    assert!((dial.gain_limit() - 0.015_457).abs() < 1e-6);
    assert!((dial.look_limit(inhg(15.0).si()) / INCH_OF_MERCURY - 0.24).abs() < 1e-9);
    assert!((dial.look_limit(inhg(5.0).si()) / INCH_OF_MERCURY - 0.27).abs() < 1e-9);
    // Of what is left there, 0.36 - 0.0576 - 0.1210 - (0.015457 * 15)^2 = 0.1276, a twentieth is the
    // place's own: 0.0799.
    assert!((dial.shape_limit(inhg(15.0).si()) / INCH_OF_MERCURY - 0.0799).abs() < 1e-4);
}

/// Deviation of the mean of several takes on a rig, in inHg, as its budget has it.
fn repeats_within(bench: &Bench, readings: &[f64]) -> f64 {
    let readings: Vec<_> = readings.iter().map(|reading| inhg(*reading)).collect();
    assess(&readings, bench, &HOLE).expect("readings").budget.repeatability / INCH_OF_MERCURY
}

#[test]
fn takes_whose_scatter_is_chance_or_the_step_from_mark_to_mark_are_averaged_by_the_benchs_own_repeatability()
{
    // One look of the usual dial scatters by 0.125 inHg.
    let bench = Bench::new(Calibration::standard(), Dial::USUAL);
    for n in 1..=3 {
        for takes in [[18.0, 18.34, 18.0], [18.0, 18.5, 18.0], [18.5, 18.0, 18.25]] {
            let by_chance = repeats_within(&bench, &takes[..n]);
            assert!((by_chance - 0.125 / (n as f64).sqrt()).abs() < 1e-4, "{:?}: {by_chance}", &takes[..n]);
        }
    }
    // Where a bench repeats within half a division, a look scatters by sqrt(0.25^2 + 0.0625^2/3) = 0.2526: two looks
    // 0.79 apart have squares of 4.9 of its square, and chi-square with one degree of freedom exceeds 5.02 in one
    // case of 40 (tables).
    let measured = Repeatability { deviation: inhg(0.25), readings: 10_000 };
    let worse = repeats_within(&bench.with_repeatability(measured), &[18.0, 18.79]);
    assert!((worse - 0.25 * 1.962 / 1.96 / 2.0_f64.sqrt()).abs() < 1e-3, "{worse}");
}

#[test]
fn scatter_that_chance_and_marks_do_not_explain_counts_by_what_it_is_more_than_they_do() {
    // Two takes 0.8 apart have squares of 0.32, of which a division makes 0.125: the rest counts by Student's 12.71 for
    // one degree of freedom (JCGM 100, table G.2), beside the 0.125 of any look.
    let bench = Bench::new(Calibration::standard(), Dial::USUAL);
    let scattered = repeats_within(&bench, &[18.0, 18.8]);
    let of_student = 12.71 / 1.96 * (0.32_f64 - 0.125).sqrt();
    let expected = (0.125_f64 * 0.125 + of_student * of_student).sqrt() / 2.0_f64.sqrt();
    assert!((scattered / expected - 1.0).abs() < 1e-3, "{scattered}");
}

#[test]
fn takes_that_lie_farther_apart_are_never_surer_and_no_tenth_makes_a_leap() {
    let bench = Bench::new(Calibration::standard(), Dial::USUAL);
    let far = |tenths: i32| 18.0 + f64::from(tenths) / 10.0;
    // A third take that reaches farther than two that agree leaves no less open than they do.
    let pair = repeats_within(&bench, &[18.0, 18.5]);
    for tenths in 6..=10 {
        assert!(repeats_within(&bench, &[18.0, 18.5, far(tenths)]) > pair, "{tenths}");
    }
    for tenths in 0..40 {
        let of = |tenths| {
            [repeats_within(&bench, &[18.0, far(tenths)]), repeats_within(&bench, &[18.0, 18.5, far(tenths)])]
        };
        let ([two, three], [two_wider, three_wider]) = (of(tenths), of(tenths + 1));
        assert!(two_wider >= two, "{tenths}: {two} and {two_wider}");
        assert!(tenths < 5 || three_wider >= three, "{tenths}: {three} and {three_wider}");
        // Three that still go together, a division from each to the next: 0.3 inHg at most for a tenth.
        assert!(tenths >= 10 || three_wider - three < 0.15, "{tenths}: {three} and {three_wider}");
    }
}

#[test]
fn a_measured_repeatability_takes_the_place_of_the_usual_one() {
    let by = |bench: Bench| read(&bench, 18.0).budget.repeatability / INCH_OF_MERCURY;
    let usual = Bench::new(Calibration::standard(), Dial::USUAL);
    // A quarter of the usual dial's division of 0.5 inHg, on the standard rig as it is read.
    assert!((by(usual) - 0.125).abs() < 1e-3, "{}", by(usual));
    // Of 11 readings: 2.23 by table G.2 of JCGM 100 for ten degrees of freedom, over the 1.96 of very many.
    let measured = Repeatability { deviation: inhg(0.05), readings: 11 };
    assert!((by(usual.with_repeatability(measured)) - 0.05 * 2.23 / 1.96).abs() < 1e-3);
}

#[test]
fn the_temperature_counts_in_a_gap_as_its_air_thickens_and_thins() {
    // Viscosity of air by Sutherland's formula (U.S. Standard Atmosphere 1976): 18.134 uPa s at 293.15 K, 17.650 at
    // 283.15, 18.607 at 303.15. The flow that an orifice tells goes as T^-0.5, the gap's conductance as the flow times
    // mu T, so as (18.607/17.650) (303.15/283.15)^0.5 between 10 and 30 C: a power of 1.273.
    let power = ((18.607_f64 / 17.650).ln() + 0.5 * (303.15_f64 / 283.15).ln()) / (303.15_f64 / 283.15).ln();
    assert!((power - 1.273).abs() < 2e-3, "{power}");
    let oil = OilState::new(Oil::typical().unwrap(), Pressure::constant(1e6), celsius(93.0), None).unwrap();
    let half = |kelvin: f64| {
        let bench = fine().with_temperature_uncertainty(kelvin);
        let context = Context { kind: Some(LeakKind::Gap), land: None, oil: Some(oil) };
        let loss = assess(&[inhg(18.0)], &bench, &context).unwrap().gap_oil_m3_s.unwrap();
        let loss = loss.estimate().unwrap();
        (loss.high - loss.low) / 2.0 / loss.value
    };
    // 20 K of uncertainty outweigh the rest, a rectangle of 0.03/0.82 and a little more: normal, 1.96 of it.
    let square = |number: f64| number * number;
    let expected = 1.96 * (square(power * 20.0 / 293.15) + square(0.03 / 0.82) / 3.0).sqrt();
    assert!((half(20.0) / expected - 1.0).abs() < 0.05, "{} for {expected}", half(20.0));
    // The standard reading of that gap, by what a shop 10 K warmer or colder makes of the same reading.
    let warm = |celsius_here: f64| {
        let rig = fine().calibration;
        let air = celsius(celsius_here);
        let rig =
            Calibration::new(rig.plugged(), rig.through(), rig.orifice(), rig.barometer(), air).unwrap();
        let bench = Bench::new(rig, fine().dial).with_temperature_uncertainty(10.0);
        let context = Context { kind: Some(LeakKind::Gap), land: None, oil: None };
        assess(&[inhg(15.0)], &bench, &context).unwrap()
    };
    let moved = (warm(30.0).standard_reading_pa.value - warm(10.0).standard_reading_pa.value).abs() / 2.0;
    let budgeted = warm(20.0).budget.temperature;
    assert!((budgeted / moved - 1.0).abs() < 0.03, "{budgeted} for {moved}");
    // Half an inch in 35 K would be 0.14 in 10: one land stands 0.7 inHg apart between 5 and 35 C when it
    // is taken for a hole.
    assert!((0.1..0.35).contains(&(moved / INCH_OF_MERCURY)), "{moved}");
}
