use libm::{erfc, log};

use super::Summary;

/// The fewest values that say anything about the shape of their distribution.
const FEWEST: usize = 8;

/// What [`bell_misfit`] stays below in 95 of 100 samples of a normal population.
///
/// D'Agostino and Stephens, Goodness-of-Fit Techniques (1986), table 4.7, case 3.
pub const BELL_MISFIT_LIMIT: f64 = 0.752;

/// Returns how far values are from a normal distribution of their own mean and deviation: the statistic of Anderson and
/// Darling, with Stephens' correction for the number of values.
///
/// None of fewer than 8 values or of equal ones, of which nothing can be said.
pub fn bell_misfit(values: &[f64]) -> Option<f64> {
    let summary = Summary::of(values)?;
    let deviation = summary.deviation.filter(|deviation| *deviation > 0.0)?;
    if summary.n < FEWEST {
        return None;
    }
    let mut sorted: Vec<f64> = values.iter().map(|value| (value - summary.mean) / deviation).collect();
    sorted.sort_by(f64::total_cmp);
    // Far out, the upper share must not be taken from 1, where all of it is lost.
    let log_below = |z: f64| log((0.5 * erfc(-z * std::f64::consts::FRAC_1_SQRT_2)).max(f64::MIN_POSITIVE));
    let n = summary.n as f64;
    let sum: f64 = sorted
        .iter()
        .zip(sorted.iter().rev())
        .enumerate()
        .map(|(index, (low, high))| (2.0 * index as f64 + 1.0) * (log_below(*low) + log_below(-high)))
        .sum();
    Some((-n - sum / n) * (1.0 + 0.75 / n + 2.25 / (n * n)))
}
