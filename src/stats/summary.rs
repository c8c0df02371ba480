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
pub(super) fn mean(values: &[f64]) -> f64 {
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

/// Mean of the range of two normal values in standard deviations, 2/sqrt(pi): 1.128 in the tables.
pub(crate) const MOVING_RANGE_D2: f64 = std::f64::consts::FRAC_2_SQRT_PI;

/// Upper limit of the range of two normal values over its mean, 1 + 3 sqrt(pi/2 - 1): 3.267 in the tables.
pub(crate) const MOVING_RANGE_D4: f64 = 3.266_531_919_288_601_3;

/// So many points in a row on one side of the centre are a shift.
const RUN: usize = 8;

/// A Shewhart chart of individual values in the order of time, with limits from their moving ranges.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ControlChart {
    pub values: Vec<f64>,
    pub centre: f64,
    pub moving_range: f64,
    /// Centre less three standard deviations, the deviation being the moving range over d2.
    pub lower: f64,
    /// Centre and three standard deviations.
    pub upper: f64,
    /// Upper limit of the moving ranges.
    pub range_upper: f64,
    /// What is out of the ordinary, in the order of time.
    pub signals: Vec<Signal>,
}

/// Something out of the ordinary on a chart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Signal {
    /// The value of this index is outside the limits.
    Outside(usize),
    /// The step to the value of this index is larger than the range's limit.
    Jump(usize),
    /// The eighth of a run on one side of the centre has this index.
    Run(usize),
}

impl ControlChart {
    /// Makes a chart; none of fewer than two values, or of values that are not all finite.
    pub(crate) fn of(values: &[f64]) -> Option<ControlChart> {
        if values.len() < 2 || !values.iter().all(|value| value.is_finite()) {
            return None;
        }
        let centre = mean(values);
        let ranges: Vec<f64> = values.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect();
        let moving_range = sum(ranges.iter().copied()) / ranges.len() as f64;
        let three = 3.0 * moving_range / MOVING_RANGE_D2;
        let mut chart = ControlChart {
            values: values.to_vec(),
            centre,
            moving_range,
            lower: centre - three,
            upper: centre + three,
            range_upper: MOVING_RANGE_D4 * moving_range,
            signals: Vec::new(),
        };
        chart.signals = chart.find_signals(&ranges);
        Some(chart)
    }

    fn find_signals(&self, ranges: &[f64]) -> Vec<Signal> {
        let mut signals = Vec::new();
        let (mut side, mut length) = (0.0_f64, 0);
        for (index, value) in self.values.iter().enumerate() {
            if *value < self.lower || *value > self.upper {
                signals.push(Signal::Outside(index));
            }
            if index > 0 && ranges[index - 1] > self.range_upper {
                signals.push(Signal::Jump(index));
            }
            let here = if *value == self.centre { 0.0 } else { (value - self.centre).signum() };
            length = if here != 0.0 && here == side { length + 1 } else { usize::from(here != 0.0) };
            side = here;
            if length == RUN {
                signals.push(Signal::Run(index));
            }
        }
        signals
    }
}
