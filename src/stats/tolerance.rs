use libm::{exp, lgamma, log};

use super::distribution::{incomplete_beta, normal_below, normal_quantile, student_quantile};
use super::summary::Summary;

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
/// With ever more values the factor falls to the normal quantile of the share; what it is above that is the price of
/// not knowing mean and deviation better.
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

/// Returns which of `n` values, counted from the least, is a lower tolerance limit whatever their distribution: the
/// highest such one. None where not even the least is.
///
/// ISO 16269-6 and Wilks 1941 (from memory): the r-th least is one where at least r of n values lie in the share that
/// is left out with a probability of `confidence`, a sum of binomial terms, which is DLMF 8.17.5.
pub(crate) fn limit_rank(n: usize, share: f64, confidence: f64) -> Option<usize> {
    let left_out = 1.0 - share;
    // Ever less probable with a higher rank, which lies below the number that is left out in the mean.
    let is_limit = |rank: usize| {
        rank >= 1 && rank <= n && incomplete_beta(rank as f64, (n - rank + 1) as f64, left_out) >= confidence
    };
    let (mut limit, mut beyond) = (0, n + 1);
    while beyond - limit > 1 {
        let middle = limit.midpoint(beyond);
        if is_limit(middle) { limit = middle } else { beyond = middle }
    }
    (limit > 0).then_some(limit)
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

/// Returns whether the least of values is further below the others than chance puts one in 19 samples of 20.
///
/// Grubbs' test for one value on one side, 5 %, by Student's t (Grubbs 1969; NIST/SEMATECH e-Handbook 1.3.5.17.1).
/// `false` of fewer than 3 values or of equal ones.
pub(crate) fn is_least_odd(values: &[f64]) -> bool {
    let Some(summary) = Summary::of(values).filter(|summary| summary.n > 2) else { return false };
    let Some(deviation) = summary.deviation.filter(|deviation| *deviation > 0.0) else { return false };
    let n = summary.n as f64;
    let Some(t) = student_quantile(0.05 / n, n - 2.0) else { return false };
    let mark = (n - 1.0) / n.sqrt() * (t * t / (n - 2.0 + t * t)).sqrt();
    (summary.mean - summary.least) / deviation > mark
}

/// Returns the probability that a noncentral t variable is below a positive value.
///
/// With s² a chi-square variable over its degrees of freedom, it is the mean of Φ(t s - shift); summed by the
/// trapezoidal rule over log s, in which everything varies gently and vanishes at both ends, so that the rule
/// converges faster than any power of its step (Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions 2,
/// chapter 31; from memory).
fn noncentral_t_below(t: f64, freedom: f64, shift: f64) -> f64 {
    const STEPS: u32 = 600;
    // The density of log s falls off like exp(freedom (log s - s²/2 + 1/2)); what lies where that is
    // below e^-40 is nothing.
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
