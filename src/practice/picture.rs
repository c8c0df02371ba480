use crate::quantity::{INCH_OF_MERCURY, Pressure};
use crate::rig::Dial;

/// How wide an inHg is.
const WIDTH: usize = 10;
/// How many inHg of the scale are drawn, and where the second of the parts begins that it is drawn in: so 5 and 25,
/// which a rig is set to, lie amid one, and the figures stand still while the needle comes home.
const USUAL: (usize, usize) = (5, 3);
/// The same on a narrow screen.
const NARROW: (usize, usize) = (2, 2);

/// Draws the part of a dial around its needle, in three lines: figures, marks, needle. Between two marks the needle is
/// to be read by eye, to a tenth of an inHg. Less of it is drawn where there are not so many columns.
pub(crate) fn dial(dial: &Dial, needle: Pressure, columns: usize) -> [String; 3] {
    let inch = |pressure: Pressure| pressure.si() / INCH_OF_MERCURY;
    let fits = |(part, _): (usize, usize)| part * WIDTH + " 0 inHg".len() <= columns;
    let (part, second) = if fits(USUAL) { USUAL } else { NARROW };
    let span = inch(dial.span()).round() as usize;
    let at = inch(needle).clamp(0.0, span as f64);
    let beyond = (at.floor() as usize).checked_sub(second);
    let first = beyond.map_or(0, |beyond| second + beyond / part * part).min(span.saturating_sub(part));
    let mut figures = String::new();
    for figure in first..=first + part {
        let column = (figure - first) * WIDTH;
        figures += &format!("{:>width$}", figure, width = column + 2 - figures.chars().count());
    }
    let division = inch(dial.smallest_division());
    let mark = |column: usize| {
        let place = column as f64 / WIDTH as f64;
        let is_mark = ((place / division).round() * division - place).abs() < 0.5 / WIDTH as f64;
        match (column.is_multiple_of(WIDTH), is_mark) {
            (true, _) => '|',
            (false, true) => '\'',
            (false, false) => ' ',
        }
    };
    let marks: String = (0..=part * WIDTH).map(mark).collect();
    let column = ((at - first as f64) * WIDTH as f64).round() as usize;
    [format!("{figures} inHg"), format!(" {marks}"), format!(" {:column$}^", "")]
}
