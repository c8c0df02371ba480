use thiserror::Error;

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
        || FRACTIONS.iter().any(|(sign, _)| *sign == c)
}

/// Reads a number as people write it: `18.5`, `18,5`, `18 1/2`, `18-1/2`, `18½`, `1/2`, `-5`. The result is finite.
pub(crate) fn parse_number(text: &str) -> Result<f64, NumberError> {
    let text = text.trim();
    let spelt = FRACTIONS.iter().find_map(|(sign, spelt)| {
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

/// Writes a number with at most this many decimals and no trailing zeros.
pub(crate) fn shown(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
