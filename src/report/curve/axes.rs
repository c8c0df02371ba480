use std::fmt::Write;

/// A linear scale from numbers to places on the sheet, and the marks along it.
pub(super) struct Axis {
    from: f64,
    to: f64,
    start: f64,
    end: f64,
}

impl Axis {
    /// Maps `from` to the place `start` and `to` to the place `end`.
    pub(super) fn new(from: f64, to: f64, start: f64, end: f64) -> Axis {
        Axis { from, to, start, end }
    }

    pub(super) fn place(&self, number: f64) -> f64 {
        self.start + (number - self.from) / (self.to - self.from) * (self.end - self.start)
    }

    /// Multiples of a step within the axis.
    pub(super) fn marks(&self, step: f64) -> impl Iterator<Item = f64> {
        let first = (self.from / step).ceil() as i64;
        let last = (self.to / step + 1e-9).floor() as i64;
        (first..=last).map(move |count| count as f64 * step)
    }
}

/// A picture as it is drawn: SVG elements in the order in which they cover each other.
#[derive(Default)]
pub(super) struct Drawing {
    elements: String,
}

impl Drawing {
    fn push(&mut self, element: std::fmt::Arguments<'_>) {
        // Writing to a string cannot fail.
        let _ = self.elements.write_fmt(element);
        self.elements.push('\n');
    }

    pub(super) fn line(&mut self, class: &str, (x1, y1): (f64, f64), (x2, y2): (f64, f64)) {
        self.push(format_args!(
            r#"<line class="{class}" x1="{x1:.1}" y1="{y1:.1}" x2="{x2:.1}" y2="{y2:.1}"/>"#
        ));
    }

    pub(super) fn dot(&mut self, class: &str, (x, y): (f64, f64), radius: f64) {
        self.push(format_args!(r#"<circle class="{class}" cx="{x:.1}" cy="{y:.1}" r="{radius}"/>"#));
    }

    /// A line through points, or an area where `class` fills it.
    pub(super) fn path(&mut self, class: &str, points: impl IntoIterator<Item = (f64, f64)>) {
        let mut track = String::new();
        for (index, (x, y)) in points.into_iter().enumerate() {
            let command = if index == 0 { 'M' } else { 'L' };
            let _ = write!(track, "{command}{x:.1} {y:.1}");
        }
        self.push(format_args!(r#"<path class="{class}" d="{track}"/>"#));
    }

    /// Text at a place, turned by so many degrees; `class` says where it is anchored.
    pub(super) fn text(&mut self, class: &str, (x, y): (f64, f64), turn: f64, text: &str) {
        let text = text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
        let turn =
            if turn == 0.0 { String::new() } else { format!(r#" transform="rotate({turn} {x:.1} {y:.1})""#) };
        self.push(format_args!(r#"<text class="{class}" x="{x:.1}" y="{y:.1}"{turn}>{text}</text>"#));
    }

    pub(super) fn finish(self) -> String {
        self.elements
    }
}
