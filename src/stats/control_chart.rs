use super::summary::{mean, sum};

/// Mean of the range of two normal values in standard deviations, 2/sqrt(pi): 1.128 in the tables.
pub const MOVING_RANGE_D2: f64 = std::f64::consts::FRAC_2_SQRT_PI;

/// Upper limit of the range of two normal values over its mean, 1 + 3 sqrt(pi/2 - 1): 3.267 in the tables.
pub const MOVING_RANGE_D4: f64 = 3.266_531_919_288_601_3;

/// So many points in a row on one side of the centre are a shift.
const RUN: usize = 8;

/// A Shewhart chart of individual values in the order of time, with limits from their moving ranges.
#[derive(Debug, Clone, PartialEq)]
pub struct ControlChart {
    /// The values.
    pub values: Vec<f64>,
    /// Their mean.
    pub centre: f64,
    /// Mean of the ranges of neighbours.
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
pub enum Signal {
    /// The value of this index is outside the limits.
    Outside(usize),
    /// The step to the value of this index is larger than the range's limit.
    Jump(usize),
    /// The eighth of a run on one side of the centre has this index.
    Run(usize),
}

impl ControlChart {
    /// Makes a chart; none of fewer than two values, or of values that are not all finite.
    pub fn of(values: &[f64]) -> Option<ControlChart> {
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
