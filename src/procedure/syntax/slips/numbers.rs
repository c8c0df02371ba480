use super::super::tokens::{Kind, Token};
use super::Slip;
use crate::quantity::{Dimension, Unit, shown};

/// Finds numbers that are written as on paper: decimal commas, fractions, percent, units without their point.
pub(super) fn find(tokens: &[Token<'_>]) -> Vec<Slip> {
    let mut found = Vec::new();
    let mut n = 0;
    while n < tokens.len() {
        match tokens[n].kind {
            Kind::Number => {
                if let Some(slip) =
                    n.checked_sub(1).and_then(|before| in_front(&tokens[..n], before, &tokens[n]))
                {
                    found.push(slip);
                }
                let (slip, length) = version(tokens, n)
                    .or_else(|| hours(tokens, n))
                    .map_or_else(|| number(&tokens[n..]), |(slip, length)| (Some(slip), length));
                found.extend(slip);
                n += length;
            }
            _ => n += 1,
        }
    }
    found
}

/// Looks at a mark right in front of a number: `.55`, `$52`.
fn in_front(tokens: &[Token<'_>], before: usize, number: &Token<'_>) -> Option<Slip> {
    let mark = &tokens[before];
    if mark.end() != number.start {
        return None;
    }
    if ["$", "€", "£"].iter().any(|sign| mark.is(sign)) {
        let help = format!("write {}; currency in the shop's prices.json names the money", number.text);
        let slip = Slip::at(mark, format!("{} can't stand before a number", mark.text), help);
        return Some(slip.with(mark.start..mark.end(), " "));
    }
    let is_behind = before
        .checked_sub(1)
        .is_some_and(|at| tokens[at].end() == mark.start && tokens[at].kind != Kind::Mark);
    if mark.is(".") && !is_behind {
        let slip = Slip::at(mark, "a number begins with a digit", format!("write 0.{}", number.text));
        return Some(slip.with(mark.start..mark.start, "0"));
    }
    None
}

/// Looks at what follows a number; returns the slip there and how many tokens it takes.
fn number(tokens: &[Token<'_>]) -> (Option<Slip>, usize) {
    let first = &tokens[0];
    let beside = |n: usize| tokens.get(n).filter(|token| token.start == tokens[n - 1].end());
    if let (Some(comma), Some(decimals)) = (beside(1), beside(2))
        && comma.is(",")
        && decimals.kind == Kind::Number
    {
        let meant = format!("{}.{}", first.text, decimals.text);
        let help = format!("write decimals with a point, {meant}; write thousands without a mark");
        let slip = Slip::at(first, format!("{},{} is not one number", first.text, decimals.text), help);
        return (Some(slip.with(comma.start..comma.end(), ".")), 3);
    }
    if let [_, above, slash, below, ..] = tokens
        && above.kind == Kind::Number
        && slash.is("/")
        && below.kind == Kind::Number
        && let (Ok(whole), Ok(part), Ok(of)) =
            (first.text.parse::<f64>(), above.text.parse::<f64>(), below.text.parse::<f64>())
        && of != 0.0
    {
        let meant = whole + part / of;
        let slip = Slip::at(
            first,
            format!("{} {}/{} is not one number", first.text, above.text, below.text),
            format!("write {meant}"),
        );
        return (Some(slip.with(first.start..below.end(), meant.to_string())), 4);
    }
    if let Some(sign) = beside(1)
        && sign.is("%")
        && tokens.get(2).is_none_or(|next| next.kind == Kind::Mark && !next.is("("))
    {
        let share = first.text.parse::<f64>().unwrap_or_default() / 100.0;
        let slip = Slip::at(sign, "there is no percent sign", format!("write {}% as {share}", first.text));
        return (Some(slip.with(sign.start..sign.end(), " ")), 2);
    }
    if let Some(found) = in_hg(tokens).or_else(|| price(tokens)) {
        return (Some(found.0), found.1);
    }
    if let (Some(point), Some(word)) = (beside(1), beside(2))
        && point.is(".")
        && word.is("in")
    {
        let meant = format!("{}.inch", first.text);
        let slip = Slip::at(word, "\"in\" is a word of the language, not a unit", format!("write {meant}"));
        return (Some(slip.with(first.start..word.end(), meant)), 3);
    }
    if let Some(name) = beside(1).filter(|name| name.kind == Kind::Word && !name.text.contains('_'))
        && tokens.get(2).is_some_and(|next| next.is(",") || next.is("}"))
        && (Unit::by_text(name.text).is_none() || name.text.len() == 1)
    {
        let meant = format!("\"{}{}\"", first.text, name.text);
        let slip = Slip::at(first, "a text stands in double quotes", format!("write {meant}"));
        return (Some(slip.with(first.start..name.end(), meant)), 2);
    }
    if let Some(word) = tokens.get(1).filter(|word| word.kind == Kind::Word)
        && let Some(unit) = Unit::by_text(word.text)
        && tokens.get(2).is_none_or(|next| next.kind != Kind::Word)
    {
        let meant = format!("{}.{}", first.text, unit.word);
        let slip = Slip::at(first, "a point stands between a number and its unit", format!("write {meant}"));
        return (Some(slip.with(first.start..word.end(), meant)), 2);
    }
    (None, 1)
}

/// `20 in Hg` and `20.in.Hg`.
fn in_hg(tokens: &[Token<'_>]) -> Option<(Slip, usize)> {
    let mut words = tokens.iter().enumerate().skip(1).filter(|(_, token)| !token.is(".")).take(2);
    let ((_, inches), (at, mercury)) = (words.next()?, words.next()?);
    let is_unit = inches.is("in") && mercury.kind == Kind::Word && mercury.text.eq_ignore_ascii_case("hg");
    if !is_unit || at > 4 {
        return None;
    }
    let (first, meant) = (&tokens[0], format!("{}.inHg", tokens[0].text));
    let slip = Slip::at(first, "inHg is one word, behind a point", format!("write {meant}"));
    Some((slip.with(first.start..mercury.end(), meant), at + 1))
}

/// `52$` and `52 USD`.
fn price(tokens: &[Token<'_>]) -> Option<(Slip, usize)> {
    let [number, money, behind, ..] = tokens else { return None };
    let is_code = money.text.len() == 3 && money.text.chars().all(|c| c.is_ascii_uppercase());
    let is_word = money.kind == Kind::Word
        && (is_code || ["dollar", "dollars", "euro", "euros"].iter().any(|word| money.is(word)));
    let is_sign = ["$", "€", "£"].iter().any(|sign| money.is(sign));
    let is_money = (is_word && money.start > number.end()) || is_sign;
    if !is_money || !(behind.is(",") || behind.is("}")) {
        return None;
    }
    let help = format!("write {}; currency in the shop's prices.json names the money", number.text);
    let slip = Slip::at(money, format!("{} can't stand behind a number", money.text), help);
    Some((slip.with(number.end()..money.end(), " "), 2))
}

/// `version: 1.0.0`.
fn version(tokens: &[Token<'_>], n: usize) -> Option<(Slip, usize)> {
    let key = n.checked_sub(2).map(|at| &tokens[at]).filter(|key| key.is("version"))?;
    if !tokens[n - 1].is(":") {
        return None;
    }
    let first = &tokens[n];
    let length = tokens[n..].iter().take_while(|token| token.kind == Kind::Number || token.is(".")).count();
    let last = &tokens[n + length - 1];
    let mut text: String = tokens[n..n + length].iter().map(|token| token.text).collect();
    // Three numbers, however few were written.
    let n_points = tokens[n..n + length].iter().map(|token| token.text.matches('.').count()).sum::<usize>();
    text += ".0".repeat(2_usize.saturating_sub(n_points)).as_str();
    let message = format!("a {} stands in double quotes", key.text);
    let slip = Slip::at(first, message, format!("write \"{text}\""));
    let is_one = text.split('.').all(|part| part.parse::<u32>().is_ok());
    is_one.then(|| (slip.with(first.start..last.end(), format!("\"{text}\"")), length))
}

/// `hours: 30 min`.
fn hours(tokens: &[Token<'_>], n: usize) -> Option<(Slip, usize)> {
    let key = n.checked_sub(2).map(|at| &tokens[at]).filter(|key| key.is("hours"))?;
    let (first, word) = (&tokens[n], tokens.get(n + 1)?);
    let unit = Unit::by_text(word.text).filter(|unit| unit.dimension == Dimension::Duration)?;
    let meant = shown(unit.to_si(first.text.parse().ok()?) / 3600.0, 2);
    if !tokens[n - 1].is(":") {
        return None;
    }
    let message = format!("{} is a number alone", key.text);
    let slip = Slip::at(first, message, format!("write hours: {meant}"));
    Some((slip.with(first.start..word.end(), meant), 2))
}
