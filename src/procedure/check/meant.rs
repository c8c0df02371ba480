use rhai::Expr;

use super::super::{Key, Sort};
use super::names::{written_number, written_quantity};
use crate::quantity::{Dimension, Entry, UNITS, Unit, parse_number, shown};

/// Returns what an author meant most likely who wrote a value of another kind: the figure that was written, put right.
pub(super) fn meant(key: &Key, value: &Expr) -> Option<String> {
    match key.sort {
        Sort::Number => number(key.name, value),
        Sort::Quantity(dimension) => quantity(key.name, dimension?, value),
        // A version is three numbers.
        Sort::Text if key.name == "version" => {
            written_number(value).map(|number| match number.fract() == 0.0 {
                true => format!("\"{number}.0.0\""),
                false => format!("\"{number}.0\""),
            })
        }
        Sort::Text => written_number(value).map(|number| format!("\"{number}\"")),
        _ => None,
    }
}

/// Writes a number with each unit that may have been meant, as `0.55.inch or 0.55.mm`.
pub(super) fn with_units(key: &str, dimension: Dimension, number: f64) -> String {
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

fn number(key: &str, value: &Expr) -> Option<String> {
    let hours = |seconds: f64| shown(seconds / 3600.0, 2);
    if let Some((number, unit)) = written_quantity(value) {
        let is_time = key == "hours" && unit.dimension == Dimension::Duration;
        return Some(if is_time { hours(unit.to_si(number)) } else { number.to_string() });
    }
    let Expr::StringConstant(text, _) = value else { return None };
    let figure = text.trim().trim_start_matches(['$', '€', '£']).trim();
    if let Ok(number) = parse_number(figure) {
        return Some(shown(number, 2));
    }
    let entry =
        Entry::parse(figure, UNITS.iter().find(|unit| unit.dimension == Dimension::Duration)?).ok()?;
    (key == "hours" && entry.dimension == Dimension::Duration).then(|| hours(entry.si))
}

fn quantity(key: &str, dimension: Dimension, value: &Expr) -> Option<String> {
    if let Some((number, _)) = written_quantity(value) {
        return Some(with_units(key, dimension, number));
    }
    if let Some(number) = written_number(value) {
        return Some(with_units(key, dimension, number));
    }
    let Expr::StringConstant(text, _) = value else { return None };
    let split = text.trim().find(|c: char| c.is_alphabetic() || c == '"').unwrap_or(text.len());
    let (figure, unit) = text.trim().split_at(split.min(text.trim().len()));
    let number = parse_number(figure).ok()?;
    match Unit::by_text(unit).filter(|unit| unit.dimension == dimension) {
        Some(unit) => Some(format!("{number}.{}", unit.word)),
        None => Some(with_units(key, dimension, number)),
    }
}
