//! What an author meant who wrote something else than a description takes.

use super::super::Fault;
use super::description::{Given, KnownValue};
use super::vocabulary::{Key, Sort};
use crate::quantity::{Dimension, Entry, UNITS, Unit, parse_number, shown};

/// Returns what may stand behind a key.
pub(super) fn example(key: &Key) -> String {
    match key.sort {
        Sort::Quantity(dimension) => {
            let unit = UNITS.iter().find(|unit| dimension.is_none_or(|d| d == unit.dimension));
            let number = if key.name == "leaks" { 15 } else { 20 };
            format!("{number}.{}", unit.map_or("", |unit| unit.word))
        }
        Sort::List(Sort::Text) => "[\"...\", \"...\"]".to_owned(),
        Sort::List(Sort::Quantity(_)) => "[8.inHg, 12.inHg]".to_owned(),
        Sort::List(_) => "[#{ ... }]".to_owned(),
        Sort::Description if key.name == "ports" => "#{ \"3A\": [412, 230] }".to_owned(),
        Sort::Description => "#{ ... }".to_owned(),
        Sort::Number => "0.6".to_owned(),
        _ if key.name == "version" => "\"1.0.0\"".to_owned(),
        _ if key.name == "picture" => "\"body.png\"".to_owned(),
        _ if key.name == "unit" => "\"mm\"".to_owned(),
        _ => "\"...\"".to_owned(),
    }
}

/// Returns what an author meant most likely who wrote a value of another kind: the figure that was written, put right.
pub(super) fn meant(key: &Key, value: &KnownValue) -> Option<String> {
    let hours = |seconds: f64| shown(seconds / 3600.0, 2);
    match (key.sort, value) {
        (Sort::Number, KnownValue::Quantity(number, unit)) => {
            let is_time = key.name == "hours" && unit.dimension == Dimension::Duration;
            Some(if is_time { hours(unit.to_si(*number)) } else { number.to_string() })
        }
        (Sort::Number, KnownValue::Text(text)) => {
            let figure = text.trim().trim_start_matches(['$', '€', '£']).trim();
            if let Ok(number) = parse_number(figure) {
                return Some(shown(number, 2));
            }
            let entry =
                Entry::parse(figure, UNITS.iter().find(|unit| unit.dimension == Dimension::Duration)?);
            let entry = entry.ok().filter(|_| key.name == "hours")?;
            Some(hours(entry.si))
        }
        (Sort::Quantity(dimension), KnownValue::Quantity(number, _)) => {
            Some(with_units(key.name, dimension?, *number))
        }
        (Sort::Quantity(dimension), KnownValue::Text(text)) => {
            let split = text.trim().find(|c: char| c.is_alphabetic() || c == '"').unwrap_or(text.len());
            let (figure, unit) = text.trim().split_at(split.min(text.trim().len()));
            let (number, dimension) = (parse_number(figure).ok()?, dimension?);
            match Unit::by_text(unit).filter(|unit| unit.dimension == dimension) {
                Some(unit) => Some(format!("{number}.{}", unit.word)),
                None => Some(with_units(key.name, dimension, number)),
            }
        }
        // A version is three numbers.
        (Sort::Text, KnownValue::Number(number)) if key.name == "version" => {
            Some(if number.fract() == 0.0 { format!("\"{number}.0.0\"") } else { format!("\"{number}.0\"") })
        }
        (Sort::Text, KnownValue::Number(number)) => Some(format!("\"{number}\"")),
        _ => None,
    }
}

/// Writes a number with each unit that may have been meant, as `0.55.inch or 0.55.mm`.
pub(crate) fn with_units(key: &str, dimension: Dimension, number: f64) -> String {
    let words: &[&str] = match (dimension, key) {
        (Dimension::Length, _) => &["inch", "mm"],
        (Dimension::Pressure, "pressure") => &["psi", "kPa"],
        (Dimension::Duration, _) => &["seconds", "minutes"],
        _ => &[],
    };
    let first = || UNITS.iter().find(|unit| unit.dimension == dimension).map_or("", |unit| unit.word);
    let known = words.iter().filter(|word| Unit::by_word(word).is_some());
    let written: Vec<String> = known.map(|word| format!("{number}.{word}")).collect();
    if written.is_empty() { format!("{number}.{}", first()) } else { written.join(" or ") }
}

/// Tells a size that cannot be in the unit that its author wrote, and asks whether the other unit of its kind is meant
/// where the number fits in that.
pub(super) fn in_written_unit(
    fault: Fault,
    given: &Given,
    shown: &str,
    fits: impl Fn(KnownValue) -> bool,
) -> Fault {
    let KnownValue::Quantity(number, unit) = given.value else { return fault };
    if shown.is_empty() {
        return fault;
    }
    let message = fault.message.replace(shown, &format!("{number} {}", unit.symbol));
    let pairs = [["inch", "mm"], ["psi", "kPa"], ["celsius", "fahrenheit"]];
    let others =
        pairs.iter().filter(|pair| pair.contains(&unit.word)).flatten().filter(|word| **word != unit.word);
    let other =
        others.filter_map(|word| Unit::by_word(word)).find(|other| fits(KnownValue::Quantity(number, other)));
    let fault = Fault { message, ..fault };
    match other {
        Some(other) => fault.help(format!(
            "if {number} {} is meant, write {}: {number}.{}",
            other.word, given.key, other.word
        )),
        None => fault,
    }
}
