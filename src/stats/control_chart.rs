use std::f64::consts::{FRAC_2_SQRT_PI, SQRT_2};

use super::distribution::student_quantile;
use super::summary::{mean, sum};

/// In so many of 100 charts of something that stays as it is, some value lies outside the limits by chance.
const FALSE_ALARM: f64 = 0.04;

/// So many references in a row to whose one side the values lie are a shift; chance does that on about 1 of 100 charts.
const SHIFT: usize = 12;

/// What the moving ranges of n values are worth as degrees of freedom, for each range (Wheeler, Advanced Topics in
/// Statistical Process Control, 1995; from memory).
const FREEDOM_OF_A_RANGE: f64 = 0.62;

/// A chart of how far something is from where a reference look found it, in the order of time.
///
/// A Shewhart chart of individual values about 0, whose deviation comes from the moving ranges. Its limits
/// know how many values there are and how few the deviation rests on (Student's t, Bonferroni), and that who
/// reads a scale rounds.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ControlChart {
    /// Each look less the reference look of its run.
    pub values: Vec<f64>,
    /// Standard deviation of one look: the mean moving range over 1.128, and no less than rounding alone makes.
    pub deviation: f64,
    /// As far as that from 0 values are nothing out of the ordinary.
    pub limit: f64,
    /// What is out of the ordinary, in the order of time.
    pub signals: Vec<Signal>,
}

/// Something out of the ordinary on a chart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Signal {
    /// The value of this index is outside the limits.
    Outside(usize),
    /// This value ends the last of twelve runs to one side of their references.
    Shift(usize),
}

impl ControlChart {
    /// Makes a chart of runs, each the looks that followed one reference look, less that; `division` is the step from
    /// mark to mark of the scale that was read. None without values, or where one is not finite.
    pub(crate) fn of(runs: &[Vec<f64>], division: f64) -> Option<ControlChart> {
        let values = runs.concat();
        if values.is_empty() || !values.iter().all(|value| value.is_finite()) {
            return None;
        }
        let steps = steps(runs);
        // A scale is read to a quarter of a division, or to a whole one at worst: the readings show which.
        let seen = steps.iter().copied().filter(|step| *step > division / 1e3);
        let read_to = seen.min_by(f64::total_cmp).unwrap_or(0.0).clamp(division / 4.0, division);
        // Right between two readings, a look falls on either of them: that deviates by half of what is between.
        let deviation = deviation_by_steps(&steps)?.max(read_to / 2.0);
        let n = values.len() as f64;
        let t = student_quantile(FALSE_ALARM / (2.0 * n), FREEDOM_OF_A_RANGE * steps.len() as f64)?;
        // Both the look and its reference scatter, and values come in steps.
        let limit = t * SQRT_2 * deviation + read_to / 2.0;
        let mut signals = shifts(runs, read_to / 2.0);
        signals.extend((0..values.len()).filter(|at| values[*at].abs() > limit).map(Signal::Outside));
        signals.sort_unstable_by_key(|signal| match signal {
            Signal::Outside(at) | Signal::Shift(at) => *at,
        });
        Some(ControlChart { values, deviation, limit, signals })
    }
}

/// Returns the steps from look to look, the first of each run from its reference.
fn steps(runs: &[Vec<f64>]) -> Vec<f64> {
    let of_run = |run: &Vec<f64>| {
        let before = std::iter::once(0.0).chain(run.iter().copied());
        before.zip(run.clone()).map(|(one, next)| (next - one).abs()).collect::<Vec<_>>()
    };
    runs.iter().flat_map(of_run).collect()
}

/// Returns the standard deviation of values from the steps between neighbours: the mean moving range over 2/sqrt(pi),
/// which is 1.128 in the tables. None without steps.
pub(crate) fn deviation_by_steps(steps: &[f64]) -> Option<f64> {
    (!steps.is_empty()).then(|| sum(steps.iter().copied()) / steps.len() as f64 / FRAC_2_SQRT_PI)
}

/// Finds where the runs have lain to one side for long: by their means, which are to be further off than `near`.
fn shifts(runs: &[Vec<f64>], near: f64) -> Vec<Signal> {
    let mut signals = Vec::new();
    let (mut side, mut length, mut n) = (0.0_f64, 0, 0);
    for run in runs.iter().filter(|run| !run.is_empty()) {
        n += run.len();
        let mean = mean(run);
        let here = if mean.abs() > near { mean.signum() } else { 0.0 };
        length = if here != 0.0 && here == side { length + 1 } else { usize::from(here != 0.0) };
        side = here;
        if length == SHIFT {
            signals.push(Signal::Shift(n - 1));
        }
    }
    signals
}
