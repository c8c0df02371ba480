use serde::{Deserialize, Serialize, Serializer};
use thiserror::Error;

use super::number::{is_of_number, separates_thousands};
use super::{COUNT, Dimension, NumberError, Quantity, UNITS, Unit, parse_number};

/// A quantity as somebody entered it, and in SI. A document holds what was entered, of which the rest follows.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(with = "String"))]
#[serde(try_from = "String")]
pub struct Entry {
    /// The text as typed, with the unit that it was taken in where none was.
    pub entered: String,
    /// The unit that it was taken in; that of counts where things are counted.
    pub unit: &'static Unit,
    /// The value in SI.
    pub si: f64,
}

/// Why a text is not the quantity asked for.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum EntryError {
    #[error("nothing was entered; type a number, with its unit if you like")]
    Empty,
    #[error("{0}")]
    Number(NumberError),
    #[error("\"{0}\" is not a whole number, zero or more; say how many there are")]
    NotWhole(String),
    #[error("\"{0}\" is no unit")]
    NoUnit(String),
    #[error("\"{unit}\" is not a unit of {wanted}; known are {}", known(*.wanted))]
    UnknownUnit { unit: String, wanted: Dimension },
    #[error("\"{unit}\" measures {found}, but {wanted} is asked for; use {}", known(*.wanted))]
    WrongDimension { unit: &'static str, found: Dimension, wanted: Dimension },
}

fn known(dimension: Dimension) -> String {
    let symbols: Vec<_> =
        UNITS.iter().filter(|unit| unit.dimension == dimension).map(|unit| unit.symbol).collect();
    symbols.join(", ")
}

impl Entry {
    /// Reads a quantity as typed; a bare number is taken in `default`, whose dimension is the one asked for.
    pub fn parse(text: &str, default: &'static Unit) -> Result<Entry, EntryError> {
        let text = text.trim();
        if text.is_empty() {
            return Err(EntryError::Empty);
        }
        Entry::of_parts(text, split_unit(text), default)
    }

    /// Makes an entry of a text that is not empty, and of its number and its unit as they stand there.
    fn of_parts(
        text: &str,
        (number, typed): (&str, &str),
        default: &'static Unit,
    ) -> Result<Entry, EntryError> {
        if default.dimension == Dimension::Count {
            let count =
                parse_number(number).ok().filter(|n| *n >= 0.0 && n.fract() == 0.0 && typed.is_empty());
            let si = count.ok_or_else(|| EntryError::NotWhole(text.to_owned()))?;
            return Ok(Entry { entered: text.to_owned(), unit: default, si });
        }
        let wanted = default.dimension;
        let is_default = typed.is_empty() || typed == default.symbol;
        let Some(unit) = (if is_default { Some(default) } else { Unit::by_text(typed) }) else {
            return match parse_number(number) {
                Ok(_) => Err(EntryError::UnknownUnit { unit: typed.to_owned(), wanted }),
                Err(_) => Err(EntryError::Number(NumberError::NotANumber(text.to_owned()))),
            };
        };
        // Feet and metres are told of a place; no place is known to the thousandth.
        let is_of_place = || ["ft", "m"].contains(&unit.symbol);
        let number = match separates_thousands(number) && is_of_place() {
            true => parse_number(&number.replace(',', "")),
            false => parse_number(number),
        };
        let number = number.map_err(EntryError::Number)?;
        if unit.dimension != wanted {
            return Err(EntryError::WrongDimension { unit: unit.symbol, found: unit.dimension, wanted });
        }
        let quantity = Quantity::new(number, unit)
            .ok_or_else(|| EntryError::Number(NumberError::NotANumber(text.to_owned())))?;
        let entered = if typed.is_empty() { format!("{text} {}", unit.symbol) } else { text.to_owned() };
        Ok(Entry { entered, unit, si: quantity.si() })
    }

    /// Returns what was entered without its unit.
    pub fn number(&self) -> &str {
        split_unit(&self.entered).0
    }

    /// Returns the kind of quantity.
    pub fn dimension(&self) -> Dimension {
        self.unit.dimension
    }

    /// Returns the quantity; `None` where the value is not finite.
    pub fn quantity(&self) -> Option<Quantity> {
        Quantity::from_si(self.si, self.dimension())
    }
}

impl TryFrom<String> for Entry {
    type Error = EntryError;

    fn try_from(entered: String) -> Result<Entry, EntryError> {
        let text = entered.trim();
        if text.is_empty() {
            return Err(EntryError::Empty);
        }
        let (number, typed) = split_unit(text);
        let unit = if typed.is_empty() { Some(&COUNT) } else { Unit::by_text(typed) };
        Entry::of_parts(text, (number, typed), unit.ok_or_else(|| EntryError::NoUnit(typed.to_owned()))?)
    }
}

impl Serialize for Entry {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.entered)
    }
}

/// Splits `18 1/2 inHg` into its number and its unit, either of which may be empty.
fn split_unit(text: &str) -> (&str, &str) {
    let end = text.find(|c| !is_of_number(c)).unwrap_or(text.len());
    // The e of `1e5` belongs to the number when digits follow it.
    let end = match text[end..].strip_prefix(['e', 'E']) {
        Some(rest) if end > 0 && exponent_length(rest) > 0 => end + 1 + exponent_length(rest),
        _ => end,
    };
    let (number, unit) = text.split_at(end);
    (number.trim(), unit.trim())
}

fn exponent_length(text: &str) -> usize {
    let sign = usize::from(text.starts_with(['+', '-']));
    let digits = text[sign..].bytes().take_while(u8::is_ascii_digit).count();
    if digits == 0 { 0 } else { sign + digits }
}
