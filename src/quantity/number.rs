use std::fmt::Display;

use thiserror::Error;

use super::POWERS;

/// Why a text is not a number.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NumberError {
    #[error("\"{0}\" is not a number; write it like 18.5, 18,5 or 18 1/2")]
    NotANumber(String),
    /// A comma that could separate decimals or thousands, as in `5,280`.
    #[error("\"{}\" could mean {} or {}; write one of these", .0, .0.replace(',', ""), .0.replace(',', "."))]
    AmbiguousComma(String),
    #[error("\"{0}\" is not a fraction; write it like 18 1/2")]
    BadFraction(String),
}

/// The fractions that have a sign of their own, as a phone offers them.
const FRACTIONS: [(char, &str); 7] =
    [('½', "1/2"), ('¼', "1/4"), ('¾', "3/4"), ('⅛', "1/8"), ('⅜', "3/8"), ('⅝', "5/8"), ('⅞', "7/8")];

/// Returns whether a character can stand in a number.
pub(super) fn is_of_number(c: char) -> bool {
    matches!(c, '0'..='9' | ' ' | '.' | ',' | '/' | '+' | '-' | '−')
        || !c.is_ascii() && FRACTIONS.iter().any(|(sign, _)| *sign == c)
}

/// Reads a number as people write it: `18.5`, `18,5`, `18 1/2`, `18-1/2`, `18½`, `1/2`, `-5`. The result is finite.
pub(crate) fn parse_number(text: &str) -> Result<f64, NumberError> {
    let text = text.trim();
    if let Some(number) = plain_decimal(text) {
        return Ok(number);
    }
    let spelt = FRACTIONS.iter().filter(|_| !text.is_ascii()).find_map(|(sign, spelt)| {
        let whole = text.strip_suffix(*sign)?;
        Some(format!("{whole} {spelt}"))
    });
    let text = spelt.as_deref().unwrap_or(text).trim();
    let (sign, digits) = match text.strip_prefix(['-', '−']) {
        Some(rest) => (-1.0, rest.trim_start()),
        None => (1.0, text.strip_prefix('+').unwrap_or(text)),
    };
    let magnitude = match digits.rsplit_once('/') {
        None => decimal(digits)?,
        Some((before, denominator)) => {
            let bad = || NumberError::BadFraction(text.to_owned());
            let (whole, numerator) = match before.trim().rsplit_once([' ', '-']) {
                Some((whole, numerator)) => (whole_number(whole).ok_or_else(bad)?, numerator),
                None => (0.0, before),
            };
            let numerator = whole_number(numerator).ok_or_else(bad)?;
            // A fraction of one or more is two numbers: 20/15 is how a shop writes a pair of limits.
            let denominator = whole_number(denominator).filter(|d| *d > numerator).ok_or_else(bad)?;
            whole + numerator / denominator
        }
    };
    Ok(sign * magnitude)
}

/// The signs of money that are written before a sum or behind it.
const SIGNS_OF_MONEY: [char; 6] = ['$', '€', '£', '¥', '₹', '₩'];

/// Reads a sum of money: a number, whose sign of money is left away.
pub(crate) fn parse_sum(text: &str) -> Result<f64, NumberError> {
    let text = text.trim();
    let bare = text.strip_prefix(SIGNS_OF_MONEY).or_else(|| text.strip_suffix(SIGNS_OF_MONEY));
    parse_number(bare.unwrap_or(text))
}

/// Reads digits and perhaps a point, as most numbers are written.
fn plain_decimal(text: &str) -> Option<f64> {
    let is_plain = text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    if is_plain { text.parse().ok().filter(|number: &f64| number.is_finite()) } else { None }
}

fn whole_number(text: &str) -> Option<f64> {
    let text = text.trim();
    let short = !text.is_empty() && text.len() <= 9 && text.bytes().all(|b| b.is_ascii_digit());
    short.then(|| text.parse().ok()).flatten()
}

fn decimal(text: &str) -> Result<f64, NumberError> {
    let not_a_number = || NumberError::NotANumber(text.to_owned());
    let starts_well = text.starts_with(|c: char| c.is_ascii_digit() || c == '.' || c == ',');
    if !starts_well || !text.bytes().all(|b| b.is_ascii_digit() || b".,eE+-".contains(&b)) {
        return Err(not_a_number());
    }
    if separates_thousands(text) {
        return Err(NumberError::AmbiguousComma(text.to_owned()));
    }
    let number = if text.contains(',') { text.replace(',', ".").parse() } else { text.parse() };
    number.ok().filter(|number: &f64| number.is_finite()).ok_or_else(not_a_number)
}

/// Returns whether the comma of a number can stand between thousands and hundreds, as in `5,280`.
pub(super) fn separates_thousands(text: &str) -> bool {
    text.split_once(',').is_some_and(|(before, after)| {
        let are_digits = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
        (1..=3).contains(&before.len())
            && !before.starts_with('0')
            && after.len() == 3
            && are_digits(before)
            && are_digits(after)
    })
}

/// Writes how many there are of what is called so where it is one, as in 1 circuit and 2 circuits.
pub(crate) fn so_many<N: Display + PartialEq + From<bool>>(n: N, one: &str) -> String {
    let s = if n == N::from(true) { "" } else { "s" };
    format!("{n} {one}{s}")
}

/// Writes a number with at most this many decimals and no trailing zeros.
pub(crate) fn shown(number: f64, decimals: usize) -> String {
    let text = match nearest_decimal(number, decimals) {
        Some((sign, whole, 0)) => return format!("{sign}{whole}"),
        Some((sign, whole, part)) => format!("{sign}{whole}.{part:0decimals$}"),
        None => format!("{number:.decimals$}"),
    };
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Returns the sign, the whole part and the digits behind the point of the decimal that a number is nearest to,
/// with so many of them. None where it is about midway between two, or too large: there the standard library is
/// sure, which takes long.
fn nearest_decimal(number: f64, decimals: usize) -> Option<(&'static str, u64, u64)> {
    /// Far below what is no whole number of its own any more.
    const MOST: f64 = 1e12;
    let scaled = number * POWERS.get(decimals)?;
    let nearest = scaled.round();
    if !(nearest.abs() < MOST && (scaled - nearest).abs() < 0.49) {
        return None;
    }
    let (digits, power) = (nearest.abs() as u64, 10_u64.checked_pow(u32::try_from(decimals).ok()?)?);
    Some((if nearest < 0.0 { "-" } else { "" }, digits / power, digits % power))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::{nearest_decimal, shown};

    proptest! {
        /// The standard library's decimal form.
        #[test]
        fn a_number_is_shown_as_the_nearest_decimal(number in -1e9..1e9_f64, decimals in 1..7_usize) {
            let exact = format!("{number:.decimals$}");
            let exact = exact.trim_end_matches('0').trim_end_matches('.');
            prop_assert_eq!(shown(number, decimals), if exact == "-0" { "0" } else { exact });
        }

        #[test]
        fn a_number_midway_between_two_is_not_rounded_at_a_glance(whole in -1000..1000_i32) {
            prop_assert_eq!(nearest_decimal(f64::from(whole) + 0.5, 0), None);
        }
    }
}
