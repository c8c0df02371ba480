use std::f64::consts::{FRAC_1_SQRT_2, TAU};

use libm::{erfc, exp, lgamma, log, log1p};

use super::Summary;

/// Returns the probability that a standard normal variable is below a value.
pub(crate) fn normal_below(z: f64) -> f64 {
    0.5 * erfc(-z * FRAC_1_SQRT_2)
}

/// Returns the value that a standard normal variable is below with a probability; none where that is not above 0 and
/// below 1.
pub(crate) fn normal_quantile(probability: f64) -> Option<f64> {
    if !(probability > 0.0 && probability < 1.0) {
        return None;
    }
    let (mut low, mut high) = (-40.0_f64, 40.0_f64);
    for _ in 0..64 {
        let middle = f64::midpoint(low, high);
        if normal_below(middle) < probability { low = middle } else { high = middle }
    }
    // One step of Newton takes the bisection's last digits in.
    let z = f64::midpoint(low, high);
    let density = exp(-0.5 * z * z) / TAU.sqrt();
    Some(if density > 0.0 { z - (normal_below(z) - probability) / density } else { z })
}

/// Returns the probability that a variance ratio with these degrees of freedom is above a value: 1 - F.
///
/// The F distribution by the incomplete beta function, DLMF 8.17.5 with the continued fraction 8.17.22. Between 0 and
/// 1; 1 for a ratio that is not positive.
pub(crate) fn f_above(ratio: f64, above: f64, below: f64) -> f64 {
    if ratio.is_nan() || ratio <= 0.0 {
        return 1.0;
    }
    if ratio.is_infinite() {
        return 0.0;
    }
    incomplete_beta(below / 2.0, above / 2.0, below / (below + above * ratio)).clamp(0.0, 1.0)
}

/// Returns the value that Student's t exceeds with a probability: the square of t is a variance ratio.
///
/// `above` lies above 0 and below 0.5; degrees of freedom may be any positive number. None out of that range.
pub(crate) fn student_quantile(above: f64, freedom: f64) -> Option<f64> {
    if !(above > 0.0 && above < 0.5 && freedom > 0.0) {
        return None;
    }
    let is_short = |t: f64| f_above(t * t, 1.0, freedom) > 2.0 * above;
    let (mut low, mut high) = (0.0, 1.0);
    while is_short(high) {
        (low, high) = (high, high * 2.0);
        if high > 1e12 {
            return None;
        }
    }
    for _ in 0..64 {
        let middle = f64::midpoint(low, high);
        if is_short(middle) { low = middle } else { high = middle }
    }
    Some(f64::midpoint(low, high))
}

/// Returns the limits that hold a deviation with 95 % confidence, given one that was found with so
/// many degrees of freedom.
///
/// By chi-square, which is the variance ratio over so many degrees of freedom below that more make less than 1e-4 of
/// it. None without freedom.
pub(crate) fn deviation_limits(deviation: f64, freedom: f64) -> Option<(f64, f64)> {
    const VERY_MANY: f64 = 2e6;
    if freedom.is_nan() || freedom <= 0.0 {
        return None;
    }
    let ratio_above = |share: f64| {
        let (mut low, mut high) = (-60.0_f64, 30.0_f64);
        for _ in 0..80 {
            let middle = f64::midpoint(low, high);
            if f_above(exp(middle), freedom, VERY_MANY) > share { low = middle } else { high = middle }
        }
        exp(low)
    };
    Some((deviation / ratio_above(0.025).sqrt(), deviation / ratio_above(0.975).sqrt()))
}

/// Regularised incomplete beta function I_x(a, b), a and b positive, x from 0 to 1.
pub(super) fn incomplete_beta(a: f64, b: f64, x: f64) -> f64 {
    if x <= 0.0 || x >= 1.0 {
        return if x <= 0.0 { 0.0 } else { 1.0 };
    }
    // The fraction converges fast on this side of the mean only.
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - incomplete_beta(b, a, 1.0 - x);
    }
    let front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x));
    front * fraction(a, b, x) / a
}

/// DLMF 8.17.22 by the modified Lentz algorithm.
fn fraction(a: f64, b: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let guarded = |value: f64| if value.abs() < TINY { TINY } else { value };
    let (mut c, mut d) = (1.0, 1.0 / guarded(1.0 - (a + b) * x / (a + 1.0)));
    let mut value = d;
    for m in 1..10_000 {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / guarded(1.0 + even * d);
        c = guarded(1.0 + even / c);
        value *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / guarded(1.0 + odd * d);
        c = guarded(1.0 + odd / c);
        let step = d * c;
        value *= step;
        if (step - 1.0).abs() < 1e-15 {
            break;
        }
    }
    value
}

/// The fewest values that say anything about the shape of their distribution.
const FEWEST: usize = 8;

/// What [`bell_misfit`] stays below in 95 of 100 samples of a normal population.
///
/// D'Agostino and Stephens, Goodness-of-Fit Techniques (1986), table 4.7, case 3.
pub(crate) const BELL_MISFIT_LIMIT: f64 = 0.752;

/// Returns how far values are from a normal distribution of their own mean and deviation: the statistic of Anderson and
/// Darling, with Stephens' correction for the number of values.
///
/// None of fewer than 8 values or of equal ones, of which nothing can be said.
pub(crate) fn bell_misfit(values: &[f64]) -> Option<f64> {
    let summary = Summary::of(values)?;
    let deviation = summary.deviation.filter(|deviation| *deviation > 0.0)?;
    if summary.n < FEWEST {
        return None;
    }
    let mut sorted: Vec<f64> = values.iter().map(|value| (value - summary.mean) / deviation).collect();
    sorted.sort_by(f64::total_cmp);
    // Far out, the upper share must not be taken from 1, where all of it is lost.
    let log_below = |z: f64| log(normal_below(z).max(f64::MIN_POSITIVE));
    let n = summary.n as f64;
    let sum: f64 = sorted
        .iter()
        .zip(sorted.iter().rev())
        .enumerate()
        .map(|(index, (low, high))| (2.0 * index as f64 + 1.0) * (log_below(*low) + log_below(-high)))
        .sum();
    Some((-n - sum / n) * (1.0 + 0.75 / n + 2.25 / (n * n)))
}
