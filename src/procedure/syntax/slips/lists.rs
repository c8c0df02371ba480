use super::super::tokens::{Kind, Token};
use super::Slip;
use super::open::closing;

/// Finds lists of texts in brackets of another kind, or in none: `symptoms: ("...", "...")`.
pub(super) fn find(tokens: &[Token<'_>]) -> Vec<Slip> {
    (1..tokens.len()).filter_map(|n| one(tokens, n)).collect()
}

fn one(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let (key, colon) = (&tokens[n - 1], &tokens[n]);
    if !colon.is(":") || key.kind != Kind::Word {
        return None;
    }
    let next = tokens.get(n + 1)?;
    let bracket = closing(next).filter(|_| next.is("(") || next.is("{"));
    let first = if bracket.is_some() { n + 2 } else { n + 1 };
    let is_text = |at: usize| tokens.get(at).is_some_and(|token| token.kind == Kind::Text { closed: true });
    if !is_text(first) {
        return None;
    }
    let mut last = first;
    while tokens.get(last + 1).is_some_and(|comma| comma.is(",")) && is_text(last + 2) {
        last += 2;
    }
    let behind = tokens.get(last + 1)?;
    // A text with a colon behind it is a key.
    if last == first || behind.is(":") {
        return None;
    }
    let slip = Slip::at(next, "a list stands in square brackets", "write [\"...\", \"...\"]");
    match bracket {
        Some(end) if behind.is(end) => {
            Some(slip.with(next.start..next.end(), "[").with(behind.start..behind.end(), "]"))
        }
        None if behind.is(",") || behind.is("}") => {
            let end = tokens[last].end();
            Some(slip.with(next.start..next.start, "[").with(end..end, "]"))
        }
        _ => None,
    }
}
