use std::f64::consts::{FRAC_1_SQRT_2, TAU};

use libm::{erfc, exp};

/// Returns the probability that a standard normal variable is below a value.
pub fn normal_below(z: f64) -> f64 {
    0.5 * erfc(-z * FRAC_1_SQRT_2)
}

/// Returns the value that a standard normal variable is below with a probability; none where that is not above 0 and
/// below 1.
pub fn normal_quantile(probability: f64) -> Option<f64> {
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
