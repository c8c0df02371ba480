//! Limits from good units: against a worked example, SciPy's figures, and simulated shops that never saw the answer.

use crate::leak::{Baseline, BaselineError, HoldsRule, Limits, Promise, Shape, leaks_for};
use crate::quantity::Pressure;
use crate::rig::Calibration;
use crate::rig::simulated::Chance;
use crate::stats::{BELL_MISFIT_LIMIT, bell_misfit, normal_quantile};
use crate::tests::support::{in_hg, inhg, near};

fn of(readings: &[f64]) -> Result<Baseline, BaselineError> {
    let readings: Vec<_> = readings.iter().map(|reading| inhg(*reading)).collect();
    Baseline::of(&readings, Promise::USUAL)
}

#[test]
fn holds_is_the_mean_less_k_deviations_in_whole_tenths() {
    // k of 5 values for 95 % with 95 % confidence is 4.203 (ISO 16269-6:2014, table C.2; also in
    // tests/reference/11_tolerance_factors.csv). Mean 22.3, deviation 0.410 inHg: 22.3 - 4.203 * 0.410 = 20.58.
    let baseline = of(&[22.5, 21.8, 22.1, 22.9, 22.2]).expect("a baseline");
    assert!(matches!(baseline.rule, HoldsRule::Factor(k) if (k - 4.203).abs() < 5e-4));
    near(in_hg(baseline.limits.expect("limits").upper()), 20.5, 1e-9);
    assert_eq!((baseline.needed, baseline.more(), baseline.needed_for_least), (14, 9, 59));
}

#[test]
fn leaks_is_twice_the_leak_so_that_20_inhg_gives_15() {
    // 20 and 15 inHg: common practice, no source.
    near(in_hg(leaks_for(inhg(20.0))), 15.0, 1e-9);
    let standard = Calibration::standard();
    for tenths in 60..215 {
        let holds = inhg(f64::from(tenths) / 10.0);
        let leaks = leaks_for(holds);
        let [one, other] = [holds, leaks].map(|reading| standard.leak_at(reading).expect("a leak"));
        assert!(Limits::new(holds, leaks).is_ok());
        // Rounding down to a tenth of an inch, and the least distance, only let more leak.
        assert!(other >= 2.0 * one * (1.0 - 1e-9), "{holds} {leaks}");
        let is_apart = (in_hg(holds) - in_hg(leaks) - 3.0).abs() < 0.11;
        let is_near = other <= 2.0 * one + 0.03;
        assert!(is_apart || is_near || in_hg(leaks) <= in_hg(holds) / 2.0, "{holds} {leaks}");
    }
}

#[test]
fn two_equal_readings_promise_no_more_than_a_dial_can() {
    let equal = of(&[22.0, 22.0]).expect("a baseline");
    assert!(in_hg(Pressure::constant(equal.deviation)) > 0.1);
    // k of 2 values is 26.26.
    assert!(in_hg(equal.limits.expect("limits").upper()) < 19.0);
    assert_eq!(equal.shape, Shape::Unknown);
}

#[test]
fn readings_that_are_too_few_too_scattered_or_off_the_scale_give_no_limits() {
    assert_eq!(of(&[]), Err(BaselineError::TooFew));
    assert_eq!(of(&[22.0]), Err(BaselineError::TooFew));
    assert!(matches!(of(&[22.0, 25.1]), Err(BaselineError::OffScale(_))));
    assert!(matches!(of(&[22.0, 0.0]), Err(BaselineError::OffScale(_))));
    assert!(of(&[25.0, 25.0, 25.0]).expect("the plugged point is a reading").limits.is_some());
    assert_eq!(of(&[23.0, 19.0]).expect("a baseline").limits, None);
    assert!(matches!(Promise::new(95.0, 0.95), Err(BaselineError::Promise(_))));
    assert!(Promise::new(0.999, 0.999).is_ok());
}

#[test]
fn the_misfit_is_that_of_scipy() {
    // scipy.stats.anderson(values, "norm") of SciPy 1.17 times (1 + 0.75/n + 2.25/n^2); the check from outside,
    // `.ci/outside`, does the same with drawn values.
    let bell = [21.6, 22.4, 22.0, 21.9, 22.1, 22.3, 21.7, 22.2, 22.0, 21.8];
    let odd = [22.9, 22.8, 22.9, 22.9, 22.8, 22.9, 22.8, 22.9, 18.0, 22.9];
    for (values, expected) in [(bell, 0.136_794_459_964_678_3), (odd, 3.318_472_979_270_793)] {
        assert!((bell_misfit(&values).expect("a misfit") - expected).abs() < 1e-9);
    }
    assert_eq!(of(&bell).expect("a baseline").shape, Shape::Bell);
    assert_eq!(of(&odd).expect("a baseline").shape, Shape::Doubtful);
    assert_eq!(bell_misfit(&bell[..7]), None);
}

#[test]
fn enough_doubtful_readings_rest_on_one_of_the_least() {
    // Most next to the plugged point, a few far below: 60 units, and 59 would do.
    let readings: Vec<_> = (0..60).map(|n| if n % 10 == 0 { 21.0 } else { 24.6 }).collect();
    let baseline = of(&readings).expect("a baseline");
    assert_eq!((baseline.shape, baseline.rule), (Shape::Doubtful, HoldsRule::Rank(1)));
    assert!((in_hg(baseline.limits.expect("limits").upper()) - 21.0).abs() < 1e-9);
    // 58 promise nothing, and get no stricter limit than 60.
    let fewer = of(&readings[..58]).expect("a baseline");
    assert!(matches!(fewer.rule, HoldsRule::Lower(_)));
    assert!(fewer.limits.expect("limits").upper() <= baseline.limits.expect("limits").upper());
}

#[test]
fn with_more_units_one_odd_one_is_named_and_no_longer_obeyed() {
    // The second least of 93 is a limit (Wilks; tests/reference/08f_wilks_tolerance.csv).
    let good =
        |n: usize| (1..n).map(|at| if at % 3 == 0 { 24.4 } else { 24.6 }).chain([12.0]).collect::<Vec<_>>();
    let holds = |n: usize| in_hg(of(&good(n)).expect("a baseline").limits.expect("limits").upper());
    near(holds(92), 12.0, 1e-9);
    near(holds(93), 24.4, 1e-9);
    let named = of(&good(20)).expect("a baseline");
    near(in_hg(named.without_odd.expect("an odd one").expect("a limit")), 24.0, 0.3);
    assert_eq!(of(&[22.5, 21.8, 22.1, 22.9, 22.2]).expect("a baseline").without_odd, None);
}

/// A bell of mean 0 and deviation 1.
fn drawn(chance: &mut Chance) -> f64 {
    normal_quantile(chance.share().clamp(1e-9, 1.0 - 1e-9)).unwrap_or(0.0)
}

#[test]
fn the_promise_is_kept_in_95_of_100_shops() {
    // Shops that measure 8 good units each of a population of which the truth is known: 22 inHg, deviation 0.5. The 5 %
    // of it that read least read less than 22 - 1.645 * 0.5 = 21.178.
    const SHOPS: u32 = 300;
    let mut chance = Chance::new(20_260_507);
    let mut kept = 0;
    for _ in 0..SHOPS {
        let readings: Vec<_> = (0..8).map(|_| 22.0 + 0.5 * drawn(&mut chance)).collect();
        let limits = of(&readings).expect("a baseline").limits.expect("limits");
        // The step of a tenth is rounded down, which keeps a little more than was promised.
        kept += u32::from(in_hg(limits.upper()) <= 21.178);
    }
    let share = f64::from(kept) / f64::from(SHOPS);
    // Binomial deviation 0.013; half a step of 0.1 inHg is worth up to 0.03.
    assert!((0.92..=0.995).contains(&share), "{share}");
}

#[test]
fn bells_are_doubted_in_5_of_100_cases() {
    // What the limit of the misfit is for (D'Agostino and Stephens 1986, table 4.7).
    let mut chance = Chance::new(7);
    let doubted = (0..4_000)
        .filter(|_| {
            let values: Vec<_> = (0..20).map(|_| drawn(&mut chance)).collect();
            bell_misfit(&values).is_some_and(|misfit| misfit > BELL_MISFIT_LIMIT)
        })
        .count();
    assert!((140..=260).contains(&doubted), "{doubted} of 4000");
}
