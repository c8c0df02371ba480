//! Distributions of errors and verdicts against worked examples of JCGM 100, 101 and 106.

use crate::leak::*;
use crate::quantity::{Length, Pressure};
use crate::rig::{Calibration, Dial, Grade, Orifice, OrificeKind};
use crate::tests::support::{Table, celsius, close, inhg, near};

fn published(id: &str) -> f64 {
    let table = Table::read("07_gum_jcgm_examples.csv");
    let row = table.rows().find(|row| row.text("id") == id).expect("an example of the table");
    row.number("published")
}

fn half_width(normal: f64, rectangle: f64) -> f64 {
    let (low, high) = Spread { normal, rectangle }.interval(0.0, f64::NEG_INFINITY, f64::INFINITY);
    near(low, -high, 1e-12);
    high
}

#[test]
fn intervals_of_pure_and_mixed_distributions_are_those_of_jcgm_101() {
    // JCGM 101:2008, 9.2.2: four normal quantities of u = 1.
    near(half_width(2.0, 0.0), published("GUM-S1-9.2.2"), 0.005);
    // 9.2.4: three rectangular quantities of u = 1 beside one of u = 10 (from memory); the three are nearly normal.
    near(half_width(3.0_f64.sqrt(), 10.0 * 3.0_f64.sqrt()), published("GUM-S1-9.2.4"), 0.05);
    // A rectangle alone: 0.95 of its half-width (JCGM 100, 4.3.7).
    near(half_width(0.0, 1.0), 0.95, 1e-9);
    near(half_width(1.0, 0.0), 1.959_964, 1e-6);
}

#[test]
fn the_interpolated_width_is_that_of_the_distribution() {
    for step in 0..=2000 {
        let share = f64::from(step) / 2000.0;
        let spread = Spread { normal: (1.0 - share).sqrt(), rectangle: (3.0 * share).sqrt() };
        let width = half_width(spread.normal, spread.rectangle);
        near(spread.below(width) - spread.below(-width), 0.95, 1e-5);
    }
}

#[test]
fn the_shortest_interval_within_bounds_keeps_95_percent_of_what_is_left() {
    for rectangle in [0.0, 0.3, 1.0, 3.0] {
        let spread = Spread { normal: 0.5, rectangle };
        for (lowest, highest) in
            [(-9.0, 0.0), (-9.0, 0.2), (-0.1, 9.0), (-0.4, 0.3), (-1.0, 1.5), (-50.0, 50.0)]
        {
            let (low, high) = spread.interval(0.0, lowest, highest);
            assert!(lowest <= low && low <= 0.0 && 0.0 <= high && high <= highest);
            let left = spread.below(highest) - spread.below(lowest);
            near((spread.below(high) - spread.below(low)) / left, 0.95, 3e-6);
            // Shortest: cut at a bound, or as wide on either side.
            assert!(low == lowest || high == highest || (low + high).abs() < 1e-9);
        }
    }
}

#[test]
fn the_sum_of_a_normal_and_a_rectangle_is_a_distribution() {
    let spread = Spread { normal: 0.7, rectangle: 1.3 };
    close(spread.deviation(), (0.49_f64 + 1.69 / 3.0).sqrt(), 1e-12);
    // Its variance by integration of the distribution function.
    let (n_steps, reach) = (40_000, 8.0);
    let step = 2.0 * reach / f64::from(n_steps);
    let moment: f64 = (0..n_steps)
        .map(|k| {
            let from = -reach + step * f64::from(k);
            let middle = from + 0.5 * step;
            middle * middle * (spread.below(from + step) - spread.below(from))
        })
        .sum();
    close(moment.sqrt(), spread.deviation(), 1e-6);
}

#[test]
fn conformance_probabilities_are_those_of_jcgm_106() {
    // JCGM 106:2012, from memory where the table says so: table 1, clause 7, clause 7.4, clause 8.3.3.
    for (deviations, probability) in [(0.84, 0.80), (1.28, 0.90), (1.64, 0.95), (2.33, 0.99), (3.09, 0.999)] {
        near(Spread { normal: 1.0, rectangle: 0.0 }.below(deviations), probability, 0.0015);
    }
    let zener = Spread { normal: 0.05, rectangle: 0.0 };
    near(zener.below(-5.40 + 5.47), published("JCGM106-7"), 0.005);
    let oil = Spread { normal: 1.8, rectangle: 0.0 };
    near(oil.below(16.3 - 13.6) - oil.below(12.5 - 13.6), published("JCGM106-7.4"), 0.005);
    let speed = published("JCGM106-8.3.3");
    near(Spread { normal: 0.02 * speed, rectangle: 0.0 }.below(speed - 100.0), 0.999, 5e-4);
}

#[test]
fn guard_bands_leave_the_risk_that_ilac_says() {
    // ILAC-G8:09/2019, table 1, and ISO 14253-1:2017 (0.83 U): risk at the acceptance limit, U = 2 u.
    let risk = |band: f64| Spread { normal: 0.5, rectangle: 0.0 }.below(-band);
    for (band, bound) in [(3.0, 1e-6), (1.5, 0.0016), (1.0, 0.025), (0.83, 0.05)] {
        assert!(risk(band) < bound && risk(band) > 0.0009 * bound, "{}", risk(band));
    }
    near(risk(1.0), 0.02275, 1e-5);
    near(risk(0.0), 0.5, 1e-12);
}

fn assessed(bench: &Bench, readings: &[f64]) -> Assessment {
    let readings: Vec<_> = readings.iter().map(|reading| inhg(*reading)).collect();
    assess(&readings, bench, &Context::default()).expect("readings")
}

fn judged(bench: &Bench, readings: &[f64]) -> Judgement {
    let limits = Limits::new(inhg(20.0), inhg(15.0)).expect("limits");
    judge(&assessed(bench, readings), &limits, 0.95)
}

#[test]
fn a_verdict_needs_its_probability() {
    let bench = Bench::new(Calibration::standard(), Dial::USUAL);
    for step in 10..=249 {
        let judgement = judged(&bench, &[f64::from(step) / 10.0]);
        let probability = match judgement.verdict {
            Verdict::Holds => judgement.above,
            Verdict::Worn => judgement.between,
            Verdict::Leaks => judgement.below,
            Verdict::Retest => 1.0,
            other => panic!("{other}"),
        };
        assert!(probability >= 0.95);
        if judgement.verdict == Verdict::Retest {
            assert!(judgement.above.max(judgement.between).max(judgement.below) < 0.95);
            assert!(judgement.advice.is_some());
        }
    }
}

#[test]
fn repeats_that_advice_asks_for_settle_it() {
    // Scatter outweighs all else here, so repeats help.
    let grade = Dial::new(Grade::Asme3A, inhg(30.0), inhg(0.5)).expect("a dial");
    let bench = Bench { repeatability: inhg(0.4), ..Bench::new(Calibration::standard(), grade) };
    let mut n_seen = 0;
    for step in 750..=1050 {
        let reading = f64::from(step) / 50.0;
        let judgement = judged(&bench, &[reading]);
        if let Some(Advice::Repeat { readings }) = judgement.advice {
            n_seen += 1;
            assert!(readings > 1 && readings <= 10);
            assert_ne!(judged(&bench, &vec![reading; readings as usize]).verdict, Verdict::Retest);
            assert_eq!(judged(&bench, &vec![reading; readings as usize - 1]).verdict, Verdict::Retest);
        }
    }
    assert!(n_seen > 5);
}

#[test]
fn an_improvement_that_advice_names_settles_it() {
    // The gauge outweighs all else here, so repeats do not help.
    let coarse = Dial::new(Grade::AsmeC, inhg(30.0), inhg(0.1)).expect("a dial");
    let bench = Bench::new(Calibration::standard(), coarse);
    let judgement = judged(&bench, &[20.2]);
    assert_eq!(judgement.advice, Some(Advice::Improve(ErrorSource::Gauge)));
    let better = Dial::new(Grade::Asme4A, inhg(30.0), inhg(0.1)).expect("a dial");
    assert_eq!(judged(&Bench::new(Calibration::standard(), better), &[20.2]).verdict, Verdict::Holds);
    // On the limit itself nothing helps.
    let judgement = judged(&bench, &[20.0]);
    assert_eq!((judgement.verdict, judgement.advice), (Verdict::Retest, Some(Advice::OnTheLimit)));
    assert!(Advice::Improve(ErrorSource::Gauge).to_string().contains("better accuracy grade"));
}

#[test]
fn scatter_beyond_the_benchs_own_widens_the_interval() {
    let bench = Bench::new(Calibration::standard(), Dial::USUAL);
    let width = |readings: &[f64]| {
        let standard = assessed(&bench, readings).standard_reading_pa;
        standard.high - standard.low
    };
    assert!(width(&[18.0, 18.0, 18.0]) < width(&[18.0]));
    assert!(width(&[17.9, 18.0, 18.1]) == width(&[18.0, 18.0, 18.0]));
    assert!(width(&[16.0, 18.0, 20.0]) > 2.0 * width(&[18.0]));
}

#[test]
fn limits_in_the_wrong_order_or_out_of_range_are_refused() {
    assert!(matches!(Limits::new(inhg(15.0), inhg(20.0)), Err(LimitsError::Order { .. })));
    assert!(matches!(Limits::window(inhg(12.0), inhg(8.0)), Err(LimitsError::Window { .. })));
    assert!(matches!(Limits::window(inhg(12.0), inhg(25.0)), Err(LimitsError::Range(_))));
    assert!(matches!(Limits::new(inhg(25.0), inhg(20.0)), Err(LimitsError::Range(_))));
    assert!(matches!(Limits::new(inhg(15.0), inhg(0.0)), Err(LimitsError::Range(_))));
    assert!(Limits::new(inhg(15.0), inhg(15.0)).is_ok());
    let text = r#"{"upper_pa":50000.0,"lower_pa":60000.0}"#;
    assert!(serde_json::from_str::<Limits>(text).is_err());
    assert_eq!(serde_json::to_string(&Verdict::Retest).expect("text"), "\"retest\"");
}

#[test]
fn dials_have_the_limits_of_their_standards() {
    // ASME B40.100 table 1 (grade A read, the rest from memory) and EN 837-1:1996 table 11.
    let table = Table::read("09_gauge_accuracy_grades.csv");
    let mut n_rows = 0;
    for row in table.rows() {
        let standard = if row.text("standard").starts_with("ASME") { "ASME" } else { "EN" };
        let label = format!("{standard} {}", row.text("grade"));
        let grade = Grade::all().find(|grade| grade.label() == label).expect("a grade");
        let dial = Dial::new(grade, inhg(30.0), inhg(0.5)).expect("a dial");
        for (reading, column) in [(2.0, "lower_quarter"), (15.0, "middle_half"), (28.0, "upper_quarter")] {
            close(dial.limit(inhg(reading)).si(), row.number(column) / 100.0 * inhg(30.0).si(), 1e-12);
        }
        n_rows += 1;
    }
    assert_eq!(n_rows, Grade::all().count());
}

#[test]
fn an_assessment_survives_json_to_the_last_bit() {
    let orifice = Orifice::new(Length::constant(0.0008), OrificeKind::Plate).expect("an orifice");
    let room = Pressure::constant(99_000.0);
    let calibration = Calibration::new(inhg(25.0), inhg(5.0), orifice, room, celsius(20.0));
    let bench = Bench::new(calibration.expect("a calibration"), Dial::USUAL);
    let assessment = assessed(&bench, &[17.3]);
    let text = serde_json::to_string(&assessment).expect("text");
    assert_eq!(serde_json::from_str::<Assessment>(&text).expect("an assessment"), assessment);
    let text = serde_json::to_string(&bench.calibration).expect("text");
    assert_eq!(&serde_json::from_str::<Calibration>(&text).expect("a calibration"), &bench.calibration);
    assert!(serde_json::from_str::<Calibration>(&text.replace("\"plate\"", "\"venturi\"")).is_err());
}

/// JCGM 106, 8.3.2: with normal errors a guard band of 1.64 deviations leaves one wrong acceptance in twenty; the
/// factor is the normal quantile, 1.6449.
#[test]
fn a_passage_has_the_guard_band_of_any_other_limit_on_both_sides_of_its_window() {
    let window = Limits::window(inhg(8.0), inhg(12.0)).expect("a window");
    let deviation = inhg(0.2).si();
    let spread = Spread { normal: deviation, rectangle: 0.0 };
    let judged =
        |limit: f64, factor: f64| verdict(inhg(limit).si() + factor * deviation, &spread, &window, 0.95);
    for (limit, below, above) in
        [(8.0, Verdict::Open, Verdict::Right), (12.0, Verdict::Right, Verdict::Tight)]
    {
        assert_eq!(
            [-1.65, -1.64, 0.0, 1.64, 1.65].map(|factor| judged(limit, factor)),
            [below, Verdict::Retest, Verdict::Retest, Verdict::Retest, above]
        );
    }
}

#[test]
fn of_several_verdicts_the_worst_stands_whatever_the_limits_were() {
    let worst = |verdicts: &[Verdict]| Verdict::worst(verdicts.iter().copied());
    assert_eq!(worst(&[Verdict::Right, Verdict::Holds]), Some(Verdict::Holds));
    assert_eq!(worst(&[Verdict::Holds, Verdict::Tight, Verdict::Worn]), Some(Verdict::Tight));
    assert_eq!(worst(&[Verdict::Open, Verdict::Leaks]), Some(Verdict::Leaks));
    assert_eq!(worst(&[Verdict::Right, Verdict::Retest]), Some(Verdict::Retest));
    assert_eq!(worst(&[]), None);
}
