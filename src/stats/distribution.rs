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

/// Regularised incomplete beta function I_x(a, b), a and b positive, x from 0 to 1.
fn incomplete_beta(a: f64, b: f64, x: f64) -> f64 {
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

/// The most values that factors are worked out for.
const MOST_VALUES: usize = 2_000;

/// Returns the factor k of a one-sided tolerance interval: with this confidence, at least this share of a normal
/// population lies above the mean of `n` of its values less k of their standard deviations.
///
/// ISO 16269-6, mean and deviation both unknown: k is the `confidence` quantile of Student's t with n - 1 degrees of
/// freedom and noncentrality z √n, over √n, z being the `share` quantile of the normal distribution. None where `n` is
/// below 2 or above 2000, or share or confidence is not between 0.5 and 1.
pub(crate) fn tolerance_factor(n: usize, share: f64, confidence: f64) -> Option<f64> {
    let in_range = |probability: f64| (0.5..1.0).contains(&probability);
    if !(2..=MOST_VALUES).contains(&n) || !in_range(share) || !in_range(confidence) {
        return None;
    }
    let root = (n as f64).sqrt();
    let shift = normal_quantile(share)? * root;
    let freedom = n as f64 - 1.0;
    let (mut low, mut high) = (0.0, 1.0);
    while noncentral_t_below(high * root, freedom, shift) < confidence {
        (low, high) = (high, high * 2.0);
        if high > 1e6 {
            return None;
        }
    }
    while high - low > 1e-11 * high {
        let middle = f64::midpoint(low, high);
        if noncentral_t_below(middle * root, freedom, shift) < confidence {
            low = middle
        } else {
            high = middle
        }
    }
    Some(f64::midpoint(low, high))
}

/// Returns how many values it takes until too few of them cost a tolerance limit no more than so many standard
/// deviations; none where more than 2000 would not do.
///
/// With ever more values the factor falls to the normal quantile of the share; what it is above that is the price of not
/// knowing mean and deviation better.
pub(crate) fn values_needed(slack: f64, share: f64, confidence: f64) -> Option<usize> {
    let floor = normal_quantile(share)?;
    let is_enough = |n| tolerance_factor(n, share, confidence).is_some_and(|k| k - floor <= slack);
    if !is_enough(MOST_VALUES) {
        return None;
    }
    let (mut low, mut high) = (1, MOST_VALUES);
    while high - low > 1 {
        let middle = low.midpoint(high);
        if is_enough(middle) { high = middle } else { low = middle }
    }
    Some(high)
}

/// Returns how many values it takes until the least of them is a lower tolerance limit whatever their distribution.
///
/// ISO 16269-6, distribution-free: the smallest n with 1 - share^n at or above the confidence.
pub(crate) fn values_needed_for_least(share: f64, confidence: f64) -> Option<usize> {
    let in_range = |probability: f64| probability > 0.0 && probability < 1.0;
    if !in_range(share) || !in_range(confidence) {
        return None;
    }
    let n = (log(1.0 - confidence) / log(share)).ceil();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "positive and bounded")]
    (n <= 1e6).then_some(n as usize)
}

/// Returns the probability that a noncentral t variable is below a positive value.
///
/// With s² a chi-square variable over its degrees of freedom, it is the mean of Φ(t s - shift); summed by the trapezoidal
/// rule over log s, in which everything varies gently and vanishes at both ends, so that the rule converges faster than any
/// power of its step (Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions 2, chapter 31; from memory).
fn noncentral_t_below(t: f64, freedom: f64, shift: f64) -> f64 {
    const STEPS: u32 = 600;
    // The density of log s falls off like exp(freedom (log s - s²/2 + 1/2)); what lies where that is below e^-40 is nothing.
    let fall = |log_s: f64| freedom * (log_s - 0.5 * exp(2.0 * log_s) + 0.5);
    let end = |mut inside: f64, mut outside: f64| {
        for _ in 0..40 {
            let middle = f64::midpoint(inside, outside);
            if fall(middle) > -40.0 { inside = middle } else { outside = middle }
        }
        outside
    };
    let (from, to) = (end(0.0, -41.0 / freedom - 1.0), end(0.0, 3.0));
    let scale = 0.5 * freedom * log(0.5 * freedom) - lgamma(0.5 * freedom) + log(2.0);
    let step = (to - from) / f64::from(STEPS);
    let sum: f64 = (0..=STEPS)
        .map(|n| {
            let log_s = from + step * f64::from(n);
            let s = exp(log_s);
            exp(scale + freedom * log_s - 0.5 * freedom * s * s) * normal_below(t * s - shift)
        })
        .sum();
    sum * step
}
