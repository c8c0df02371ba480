use crate::quantity::shown;
use crate::stats::{ControlChart, Signal};

/// A control chart with its name and the unit of its values.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// What is charted.
    pub title: String,
    /// The unit of the values.
    pub unit: &'static str,
    /// The chart.
    pub chart: ControlChart,
}

/// Rows of a chart in text.
const N_ROWS: usize = 9;

impl Chart {
    /// Returns the lowest and the highest value to be drawn, the limits included.
    pub(in crate::report) fn range(&self) -> (f64, f64) {
        let values = self.chart.values.iter().copied().chain([self.chart.lower, self.chart.upper]);
        let (low, high) =
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
        if high > low { (low, high) } else { (low - 0.5, high + 0.5) }
    }

    /// Says so where all values are the same: without scatter there is no chart to draw.
    pub(in crate::report) fn flat(&self) -> Option<String> {
        let (first, rest) = self.chart.values.split_first()?;
        rest.iter().all(|value| value == first).then(|| {
            format!(
                "All {} checks differ by {} {}: no scatter, so there are no limits to draw.",
                rest.len() + 1,
                shown(*first, 2),
                self.unit
            )
        })
    }

    /// Says in words what is out of the ordinary; values are counted from 1.
    pub(in crate::report) fn told(&self) -> Vec<String> {
        let told = |signal: &Signal| match signal {
            Signal::Outside(at) => format!("{}: value {} is outside the limits.", self.title, at + 1),
            Signal::Jump(at) => {
                format!("{}: the step to value {} is larger than its limit.", self.title, at + 1)
            }
            Signal::Run(at) => format!(
                "{}: the eight values up to {} lie on one side of the centre; something has shifted.",
                self.title,
                at + 1
            ),
        };
        self.chart.signals.iter().map(told).collect()
    }

    /// Returns whether a value of this index is marked as out of the ordinary.
    pub(in crate::report) fn is_marked(&self, index: usize) -> bool {
        self.chart.signals.iter().any(|signal| {
            matches!(signal, Signal::Outside(at) | Signal::Jump(at) | Signal::Run(at) if *at == index)
        })
    }

    /// Draws the chart as lines of text: the latest values that fit, `o` in order and `X` out of it.
    pub(super) fn lines(&self, width: usize) -> Vec<String> {
        let (low, high) = self.range();
        let row = |value: f64| {
            let share = (high - value) / (high - low);
            (share * (N_ROWS - 1) as f64).round() as usize
        };
        let columns = width.saturating_sub(12).max(1);
        let skipped = self.chart.values.len().saturating_sub(columns);
        let mut rows = vec![vec![' '; self.chart.values.len() - skipped]; N_ROWS];
        for (limit, mark) in [(self.chart.lower, '.'), (self.chart.upper, '.'), (self.chart.centre, '-')] {
            rows[row(limit)].fill(mark);
        }
        for (index, value) in self.chart.values.iter().enumerate().skip(skipped) {
            rows[row(*value)][index - skipped] = if self.is_marked(index) { 'X' } else { 'o' };
        }
        let label = |at: usize| {
            let names =
                [(self.chart.upper, "upper"), (self.chart.centre, "centre"), (self.chart.lower, "lower")];
            names.iter().find(|(value, _)| row(*value) == at).map(|(value, _)| format!("{value:>10.3}"))
        };
        rows.into_iter()
            .enumerate()
            .map(|(at, marks)| {
                let label = label(at).unwrap_or_else(|| " ".repeat(10));
                format!("{label}  {}", marks.into_iter().collect::<String>()).trim_end().to_owned()
            })
            .collect()
    }
}
