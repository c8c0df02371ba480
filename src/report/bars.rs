use super::markup::{Markup, classed, element};
use super::svg::Drawing;
use crate::console::{Screen, clean};

/// A bar of a picture whose words stand beside it as text, so that they can be read on a phone.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Bar {
    /// What it is of.
    pub(crate) name: String,
    /// Where it begins and ends; which of them is higher does not matter.
    pub(crate) from: f64,
    pub(crate) to: f64,
    /// What it says, with the unit.
    pub(crate) figure: String,
}

/// Bars on one scale, which holds nothing and every end.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Bars {
    pub(crate) bars: Vec<Bar>,
    /// How far the scale reaches at least, as to the whole where the bars are shares of one.
    pub(crate) reaches: f64,
}

impl Bars {
    /// Returns where each bar begins and ends as shares of the scale.
    fn places(&self) -> Vec<(f64, f64)> {
        let ends = || self.bars.iter().flat_map(|bar| [bar.from, bar.to]);
        let (low, high) = (ends().fold(0.0, f64::min), ends().fold(self.reaches, f64::max));
        let length = if high > low { high - low } else { 1.0 };
        let place = |bar: &Bar| (bar.from.min(bar.to) - low, bar.from.max(bar.to) - low);
        self.bars.iter().map(place).map(|(from, to)| (from / length, to / length)).collect()
    }

    pub(super) fn show(&self, screen: &mut Screen) {
        const MOST: usize = 34;
        let name = self.bars.iter().map(|bar| bar.name.chars().count()).max().unwrap_or(0).min(MOST);
        let figure = self.bars.iter().map(|bar| bar.figure.chars().count()).max().unwrap_or(0);
        let length = screen.width().saturating_sub(name + figure + 6).min(40);
        for (bar, (from, to)) in self.bars.iter().zip(self.places()) {
            let at = |share: f64| (share * length as f64).round() as usize;
            let drawn = format!("{}{}", " ".repeat(at(from)), "#".repeat(at(to) - at(from)));
            let words: String = clean(&bar.name).chars().take(name).collect();
            screen.line(&format!("  {words:<name$}  {drawn:<length$}  {}", bar.figure));
        }
    }

    pub(super) fn drawn(&self) -> Markup {
        const WIDTH: f64 = 200.0;
        let row = |(bar, (from, to)): (&Bar, (f64, f64))| {
            let mut drawing = Drawing::default();
            drawing.rectangle("track", (0.0, 0.0), (WIDTH, 10.0), "#e4e4e4");
            // What is next to nothing is seen all the same.
            let (from, to) = (WIDTH * from, WIDTH * to);
            drawing.rectangle("", (from.min(WIDTH - 1.0), 0.0), ((to - from).max(1.0), 10.0), "#1d4f7c");
            let attributes =
                [("viewBox", "0 0 200 10"), ("preserveAspectRatio", "none"), ("aria-hidden", "true")];
            let cells = [
                classed("span", "name", bar.name.as_str()),
                element("svg", &attributes, drawing.into_markup()),
                classed("span", "figure", bar.figure.as_str()),
            ];
            element("li", &[], cells)
        };
        classed("ul", "bars", self.bars.iter().zip(self.places()).map(row).collect::<Markup>())
    }
}
