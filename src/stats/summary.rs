/// Number, mean and standard deviation of values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Summary {
    pub n: usize,
    pub mean: f64,
    /// Their standard deviation, with n - 1; none of a single value.
    pub deviation: Option<f64>,
    pub least: f64,
    pub most: f64,
}

impl Summary {
    /// Summarises values; none of no values, or of values that are not all finite.
    pub(crate) fn of(values: &[f64]) -> Option<Summary> {
        if values.is_empty() || !values.iter().all(|value| value.is_finite()) {
            return None;
        }
        let mean = mean(values);
        let deviation =
            (values.len() > 1).then(|| (squares(values, mean) / (values.len() as f64 - 1.0)).sqrt());
        let least = values.iter().copied().fold(f64::INFINITY, f64::min);
        let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        Some(Summary { n: values.len(), mean, deviation, least, most })
    }
}

/// Returns the sum of values with the rounding error carried along (Neumaier 1974).
pub(crate) fn sum(values: impl IntoIterator<Item = f64>) -> f64 {
    let (mut total, mut lost) = (0.0_f64, 0.0);
    for value in values {
        let next = total + value;
        lost += if total.abs() >= value.abs() { (total - next) + value } else { (value - next) + total };
        total = next;
    }
    total + lost
}

/// Mean of values, of which there is at least one; a second pass takes out the rounding of the first.
pub(crate) fn mean(values: &[f64]) -> f64 {
    let n = values.len() as f64;
    let rough = sum(values.iter().copied()) / n;
    rough + sum(values.iter().map(|value| value - rough)) / n
}

/// Sum of the squared deviations from a mean, corrected for the rounding of that mean (Chan, Golub, LeVeque 1983).
pub(super) fn squares(values: &[f64], mean: f64) -> f64 {
    let n = values.len() as f64;
    let off = sum(values.iter().map(|value| value - mean));
    sum(values.iter().map(|value| (value - mean) * (value - mean))) - off * off / n
}
