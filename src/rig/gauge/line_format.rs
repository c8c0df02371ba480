use thiserror::Error;

use crate::quantity::{Dimension, Pressure, UNITS, Unit, parse_number};

/// How a gauge writes a line: fixed text around one number, and the unit of that number.
///
/// In the pattern `{}` stands for the number, as in `P1 = {} inHg`; blanks count as one, and one more or fewer beside
/// the number does not matter. Where text follows the number it should be the unit as the gauge prints it, so that a
/// gauge that was switched to another unit is noticed.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct LineFormat {
    before: String,
    after: String,
    unit: &'static Unit,
    is_negative: bool,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum GaugeLine {
    Vacuum(Pressure),
    /// A number in another unit than agreed.
    OtherUnit(&'static Unit),
    Noise,
}

#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub(crate) enum FormatError {
    #[error(
        "\"{0}\" must have {{}} once, where the gauge prints its number; write it like \"P = {{}} inHg\""
    )]
    Place(String),
    #[error("\"{0}\" is not a unit of pressure; give inHg, kPa, hPa or psi")]
    Unit(String),
    #[error("the line ends in {pattern} but the unit is said to be {given}; give the one the gauge prints")]
    UnitContradicted { pattern: &'static str, given: &'static str },
}

impl LineFormat {
    pub(crate) fn new(pattern: &str, unit: &str) -> Result<LineFormat, FormatError> {
        let (before, after) =
            pattern.split_once("{}").ok_or_else(|| FormatError::Place(pattern.to_owned()))?;
        if after.contains("{}") {
            return Err(FormatError::Place(pattern.to_owned()));
        }
        let is_pressure = |unit: &&Unit| unit.dimension == Dimension::Pressure;
        let unit =
            Unit::by_text(unit).filter(is_pressure).ok_or_else(|| FormatError::Unit(unit.to_owned()))?;
        let (before, after) = (one_blank(before), one_blank(after));
        match Unit::by_text(&after).filter(is_pressure) {
            Some(printed) if printed != unit => {
                Err(FormatError::UnitContradicted { pattern: printed.symbol, given: unit.symbol })
            }
            _ => Ok(LineFormat { before, after, unit, is_negative: false }),
        }
    }

    /// Takes the gauge to print a vacuum as a negative pressure.
    pub(crate) fn with_negative_vacuum(self) -> LineFormat {
        LineFormat { is_negative: true, ..self }
    }

    pub(crate) fn unit(&self) -> &'static Unit {
        self.unit
    }

    pub(crate) fn read(&self, line: &str) -> GaugeLine {
        let line = one_blank(line);
        let Some(rest) = line.strip_prefix(self.before.as_str()) else {
            return GaugeLine::Noise;
        };
        let number = rest.strip_suffix(self.after.as_str()).unwrap_or_default().trim();
        if let Some(number) = plain_number(number) {
            let sign = if self.is_negative { -1.0 } else { 1.0 };
            return Pressure::from_si(self.unit.to_si(sign * number))
                .map_or(GaugeLine::Noise, GaugeLine::Vacuum);
        }
        self.other_unit(rest.trim()).map_or(GaugeLine::Noise, GaugeLine::OtherUnit)
    }

    /// The unit behind the number where it is a known one of pressure, but not the one agreed.
    fn other_unit(&self, rest: &str) -> Option<&'static Unit> {
        let end = rest.find(|c: char| !c.is_ascii_digit() && !"+-.,".contains(c))?;
        let (number, unit) = rest.split_at(end);
        plain_number(number)?;
        UNITS
            .iter()
            .filter(|known| known.dimension == Dimension::Pressure && *known != self.unit)
            .find(|known| Unit::by_text(unit) == Some(known))
    }
}

/// Gauges print decimals only; a fraction is what is left of a broken line.
fn plain_number(text: &str) -> Option<f64> {
    let plain = !text.is_empty() && text.chars().all(|c| c.is_ascii_digit() || "+-.,".contains(c));
    plain.then(|| parse_number(text).ok()).flatten()
}

fn one_blank(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
