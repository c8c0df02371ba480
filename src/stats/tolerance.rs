use libm::{exp, lgamma, log};

use super::{Summary, normal_below, normal_quantile};

/// The most values that factors are worked out for.
const MOST_VALUES: usize = 2_000;

/// Returns the factor k of a one-sided tolerance interval: with this confidence, at least this share of a normal
/// population lies above the mean of `n` of its values less k of their standard deviations.
///
/// ISO 16269-6, mean and deviation both unknown: k is the `confidence` quantile of Student's t with n - 1 degrees of
/// freedom and noncentrality z √n, over √n, z being the `share` quantile of the normal distribution. None where `n` is
/// below 2 or above 2000, or share or confidence is not between 0.5 and 1.
pub fn tolerance_factor(n: usize, share: f64, confidence: f64) -> Option<f64> {
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

/// Returns the lower limit of a one-sided tolerance interval from values of a normal population; none where they are
/// too few or equal share and confidence are out of range.
pub fn lower_tolerance_limit(values: &[f64], share: f64, confidence: f64) -> Option<f64> {
    let summary = Summary::of(values)?;
    Some(summary.mean - tolerance_factor(summary.n, share, confidence)? * summary.deviation?)
}

/// Returns how many values it takes until too few of them cost a tolerance limit no more than so many standard
/// deviations; none where more than 2000 would not do.
///
/// With ever more values the factor falls to the normal quantile of the share; what it is above that is the price of not
/// knowing mean and deviation better.
pub fn values_needed(slack: f64, share: f64, confidence: f64) -> Option<usize> {
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
pub fn values_needed_for_least(share: f64, confidence: f64) -> Option<usize> {
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
