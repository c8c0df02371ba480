use super::super::tokens::{Kind, Token};
use super::Slip;
use super::open::{FAR, closing};
use crate::quantity::Unit;

/// Finds what stands around a description or a block and does not belong there, and marks that are one too many: a doubled
/// comma, two points before a unit, a mark between a condition and its block.
pub(super) fn find(tokens: &[Token<'_>]) -> Vec<Slip> {
    (1..tokens.len())
        .filter_map(|n| {
            let (before, token) = (&tokens[n - 1], &tokens[n]);
            if token.is(",") && (before.is(",") || closing(before).is_some()) {
                let slip = Slip::at(token, "this comma is one too many", "remove it");
                return Some(slip.with(token.start..token.end(), " "));
            }
            named_outside(tokens, n)
                .or_else(|| unbracketed(tokens, n))
                .or_else(|| points(tokens, n))
                .or_else(|| before_block(tokens, n))
        })
        .collect()
}

/// `20..inHg`.
fn points(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let (number, word) = (&tokens[n - 1], tokens.get(n + 2)?);
    let [one, other] = [&tokens[n], &tokens[n + 1]];
    if !one.is(".") || !other.is(".") || number.kind != Kind::Number {
        return None;
    }
    let unit = Unit::by_text(word.text)?;
    let help = format!("write {}.{}", number.text, unit.word);
    let slip = Slip::at(other, "one point stands between a number and its unit", help);
    Some(slip.with(one.start..other.end(), "."))
}

/// `if r.leaks: {`, `if r.leaks; {`, `else: {`, and `if r.leaks:` with its steps below.
fn before_block(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let token = &tokens[n];
    if !(token.is(":") || token.is(";")) || tokens[n - 1].line != token.line {
        return None;
    }
    let line = tokens.partition_point(|other| other.line < token.line);
    let is_head = |at: &usize| ["if", "else", "while"].iter().any(|word| tokens[*at].is(word));
    let head = (line..n)
        .rev()
        .take(FAR)
        .take_while(|at| !tokens[*at].is("{") && !tokens[*at].is(";"))
        .find(is_head)?;
    let is_alone = head == n - 1;
    if tokens[head].is("else") != is_alone {
        return None;
    }
    let next = tokens.get(n + 1)?;
    if next.is("{") && next.line == token.line {
        let message = format!("no {} stands before a {{", token.text);
        return Some(Slip::at(token, message, "remove it").with(token.start..token.end(), " "));
    }
    let is_end = token.is(":") && next.line > token.line && !next.is("{");
    is_end.then(|| {
        let slip = Slip::at(token, "a block begins with {", "write { instead of :, and close it with }");
        slip.with(token.start..token.end(), " {")
    })
}

/// `circuit("feed" #{`.
fn named_outside(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let (before, token) = (&tokens[n - 1], &tokens[n]);
    let word = n.checked_sub(3).map(|at| &tokens[at])?;
    if !word.is("circuit") || !tokens[n - 2].is("(") || !matches!(before.kind, Kind::Text { closed: true }) {
        return None;
    }
    let help = format!("put it into the description, as in circuit(#{{ name: {}, ... }})", before.text);
    let slip = Slip::at(before, "a circuit's name stands in its description", help);
    token.is("#{").then(|| slip.with(before.start..before.end(), " "))
}

/// `circuit{ name: ... });`
fn unbracketed(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let (word, brace) = (&tokens[n - 1], &tokens[n]);
    let [key, colon] = tokens.get(n + 1..n + 3)? else { return None };
    let holds_entries = key.kind == Kind::Word && colon.is(":");
    if !(word.is("circuit") || word.is("procedure")) || !brace.is("{") || !holds_entries {
        return None;
    }
    let help = format!("write {}(#{{", word.text);
    let slip = Slip::at(brace, "a description begins with #{, inside brackets", help);
    Some(slip.with(brace.start..brace.end(), "(#{"))
}
