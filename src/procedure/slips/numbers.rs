use super::super::tokens::{Kind, Token};
use super::Slip;
use crate::quantity::Unit;

/// Finds numbers that are written as on paper: decimal commas, fractions, percent, units without their point.
pub(super) fn find(tokens: &[Token<'_>]) -> Vec<Slip> {
    let mut found = Vec::new();
    let mut n = 0;
    while n < tokens.len() {
        match tokens[n].kind {
            Kind::Number => {
                let (slip, length) = number(&tokens[n..]);
                found.extend(slip);
                n += length;
            }
            _ => n += 1,
        }
    }
    found
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
