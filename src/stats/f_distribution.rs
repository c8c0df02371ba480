use libm::{exp, lgamma, log, log1p};

/// Returns the probability that a variance ratio with these degrees of freedom is above a value: 1 - F.
///
/// The F distribution by the incomplete beta function, DLMF 8.17.5 with the continued fraction 8.17.22. Between 0 and
/// 1; 1 for a ratio that is not positive.
pub fn f_above(ratio: f64, above: f64, below: f64) -> f64 {
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
