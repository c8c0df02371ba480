use super::markup::{Markup, plain};
use super::svg::{Drawing, PICTURE_LEFT as LEFT, PICTURE_WIDTH as WIDTH};
use crate::console::Screen;
use crate::quantity::shown;
use crate::stats::{ControlChart, Signal};

/// A control chart with its name, the unit of its values and what they are called.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Chart {
    /// What is charted.
    pub(crate) title: String,
    pub(crate) unit: &'static str,
    pub(crate) chart: ControlChart,
    /// The session of each value.
    pub(crate) sessions: Vec<String>,
}

const N_ROWS: usize = 9;

impl Chart {
    /// Returns the lowest and the highest value to be drawn, the limits included.
    fn range(&self) -> (f64, f64) {
        let values = self.chart.values.iter().copied().chain([-self.chart.limit, self.chart.limit]);
        let (low, high) =
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
        if high > low { (low, high) } else { (low - 0.5, high + 0.5) }
    }

    /// Says in words what is out of the ordinary, by session.
    fn told(&self) -> Vec<String> {
        let session = |at: usize| self.sessions.get(at).map(String::as_str).unwrap_or_default();
        let told = |signal: &Signal| match *signal {
            Signal::Outside(at) => format!("{}: outside the limits in {}.", self.title, session(at)),
            Signal::Shift(at) => format!(
                "{}: after twelve calibrations in a row, the last in {}, the rig was off to the same side.",
                self.title,
                session(at)
            ),
        };
        self.chart.signals.iter().map(told).collect()
    }

    /// Returns whether a value of this index is marked as out of the ordinary.
    fn is_marked(&self, index: usize) -> bool {
        self.chart
            .signals
            .iter()
            .any(|signal| matches!(signal, Signal::Outside(at) | Signal::Shift(at) if *at == index))
    }

    /// Shows the chart as lines of text: the latest values that fit, `o` in order and `X` out of it.
    pub(super) fn show(&self, screen: &mut Screen) {
        screen.line(&format!("  {} ({})", self.title, self.unit));
        for line in self.lines(screen.width()) {
            screen.line(&line);
        }
        for told in self.told() {
            screen.item("  ! ", &told);
        }
    }

    fn lines(&self, width: usize) -> Vec<String> {
        let (low, high) = self.range();
        let row = |value: f64| {
            let share = (high - value) / (high - low);
            (share * (N_ROWS - 1) as f64).round() as usize
        };
        let columns = width.saturating_sub(12).max(1);
        let skipped = self.chart.values.len().saturating_sub(columns);
        let mut rows = vec![vec![' '; self.chart.values.len() - skipped]; N_ROWS];
        for (line, mark) in [(-self.chart.limit, '.'), (self.chart.limit, '.'), (0.0, '-')] {
            rows[row(line)].fill(mark);
        }
        for (index, value) in self.chart.values.iter().enumerate().skip(skipped) {
            rows[row(*value)][index - skipped] = if self.is_marked(index) { 'X' } else { 'o' };
        }
        let label = |at: usize| {
            let lines = [self.chart.limit, 0.0, -self.chart.limit];
            lines.iter().find(|value| row(**value) == at).map(|value| format!("{value:>10.3}"))
        };
        rows.into_iter()
            .enumerate()
            .map(|(at, marks)| {
                let label = label(at).unwrap_or_else(|| " ".repeat(10));
                format!("{label}  {}", marks.into_iter().collect::<String>()).trim_end().to_owned()
            })
            .collect()
    }

    /// Draws the chart, and says below it what is out of the ordinary.
    pub(super) fn drawn(&self) -> Markup {
        const HEIGHT: f64 = 140.0;
        let title = plain("h3", format!("{} ({})", self.title, self.unit));
        let ControlChart { values, limit, .. } = &self.chart;
        let (low, high) = self.range();
        let y = |value: f64| 8.0 + (HEIGHT - 16.0) * (high - value) / (high - low);
        let length = (values.len() - 1).max(1) as f64;
        let place =
            |index: usize| (LEFT + 8.0 + (WIDTH - LEFT - 20.0) * index as f64 / length, y(values[index]));
        let mut drawing = Drawing::default();
        for (value, class, word) in
            [(*limit, "bound", "limit"), (0.0, "axis", "as set"), (-limit, "bound", "limit")]
        {
            drawing.line(class, (LEFT, y(value)), (WIDTH - 6.0, y(value)));
            drawing.text("end", (LEFT - 4.0, y(value) + 3.0), &format!("{word} {}", shown(value, 2)));
        }
        for index in 1..values.len() {
            drawing.line("thread", place(index - 1), place(index));
        }
        for index in 0..values.len() {
            if self.is_marked(index) {
                drawing.sign("cross", place(index), "m-4 -4 l8 8 m0 -8 l-8 8");
            } else {
                drawing.dot("", place(index), 2.4);
            }
        }
        let told = self.told();
        let said = format!(
            "{} in {}: {} values, limits {} either way. {}",
            self.title,
            self.unit,
            values.len(),
            shown(*limit, 3),
            if told.is_empty() { "Nothing out of the ordinary.".to_owned() } else { told.join(" ") }
        );
        let items: Markup = told.iter().map(|told| plain("li", told.as_str())).collect();
        let mut drawn: Markup = [title, drawing.picture("picture", (WIDTH, HEIGHT), &said)].into();
        drawn.extend((!told.is_empty()).then(|| plain("ul", items)));
        drawn
    }
}
