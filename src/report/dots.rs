use super::markup::Markup;
use super::svg::{Drawing, PICTURE_WIDTH as WIDTH};
use super::table::length;
use crate::console::Screen;
use crate::quantity::shown;

/// Values around nothing, on one scale: a row for each name, a dot for each value.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Dots {
    pub(crate) rows: Vec<(String, Vec<f64>)>,
    /// What the values are.
    pub(crate) unit: &'static str,
}

/// Where the field of a picture begins, for names.
const LEFT: f64 = 140.0;
/// How many letters of a name there is room for.
const NAME: usize = 18;
/// How far rows are apart.
const ROW: f64 = 22.0;

impl Dots {
    /// Returns how far the scale goes to both sides: a half more than the farthest value, rounded up.
    fn reach(&self) -> f64 {
        let farthest =
            self.rows.iter().flat_map(|(_, values)| values).map(|value| value.abs()).fold(0.0, f64::max);
        ((2.0 * farthest).ceil() / 2.0).max(0.5)
    }

    /// Shows the rows as lines of text: how many values are at a place, `+` where ten or more.
    pub(super) fn show(&self, screen: &mut Screen) {
        let reach = self.reach();
        let half = screen.width().saturating_sub(NAME + 4).min(60) / 2;
        let place = |value: f64| ((value / reach * half as f64).round() + half as f64).max(0.0) as usize;
        let mut axis = vec![' '; 2 * half + 1];
        (axis[0], axis[half], axis[2 * half]) = ('|', '|', '|');
        for (name, values) in &self.rows {
            let mut counts = vec![0_u32; 2 * half + 1];
            values.iter().for_each(|value| counts[place(*value).min(2 * half)] += 1);
            let marks = counts.iter().zip(&axis).map(|(n, axis)| match n {
                0 => *axis,
                n => char::from_digit(*n, 10).unwrap_or('+'),
            });
            let name: String = name.chars().take(NAME).collect();
            let pad = " ".repeat(NAME - length(&name).min(NAME));
            screen.line(&format!("  {name}{pad}{}", marks.collect::<String>()));
        }
        let (low, high) = (shown(-reach, 1), shown(reach, 1));
        let gap = (2 * half + 1).saturating_sub(low.len() + high.len() + 1) / 2;
        let gap = " ".repeat(gap);
        screen.line(&format!("  {}{low}{gap}0{gap}{high}", " ".repeat(NAME)));
        screen.paragraph(2, &format!("A figure is how many readings lie there: {}.", self.unit));
    }

    pub(super) fn drawn(&self) -> Markup {
        let reach = self.reach();
        let height = ROW * self.rows.len() as f64 + 8.0;
        let x = |value: f64| LEFT + (value / reach + 1.0) / 2.0 * (WIDTH - LEFT - 20.0);
        let mut drawing = Drawing::default();
        drawing.line("axis", (x(0.0), 4.0), (x(0.0), height));
        for (n, (name, values)) in self.rows.iter().enumerate() {
            let y = ROW * (n as f64 + 0.5) + 4.0;
            let name: String = name.chars().take(NAME).collect();
            drawing.text("end", (LEFT - 8.0, y + 4.0), &name);
            values.iter().for_each(|value| drawing.dot("", (x(*value), y), 3.0));
        }
        drawing.line("axis", (x(-reach), height), (x(reach), height));
        for value in [-reach, -reach / 2.0, 0.0, reach / 2.0, reach] {
            drawing.line("axis", (x(value), height), (x(value), height + 4.0));
            drawing.text("middle", (x(value), height + 16.0), &shown(value, 2));
        }
        drawing.text("end", (WIDTH - 2.0, height + 32.0), self.unit);
        let said = self.rows.iter().map(|(name, values)| {
            let all = values.iter().map(|value| shown(*value, 1)).collect::<Vec<_>>().join(", ");
            format!("{name}: {all}")
        });
        let said = format!("{}. {}.", self.unit, said.collect::<Vec<_>>().join("; "));
        drawing.picture("picture", (WIDTH, height + 36.0), &said)
    }
}
