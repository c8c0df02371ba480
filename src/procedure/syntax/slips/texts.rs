use std::cell::LazyCell;

use super::super::tokens::{Kind, Token};
use super::super::{Stands, VOCABULARY};
use super::Slip;
use super::open::{FAR, enclosing};

/// Finds texts that belong together without a `+`, and texts without quotes in the brackets of a word.
pub(super) fn find(tokens: &[Token<'_>]) -> Vec<Slip> {
    let enclosing = LazyCell::new(|| enclosing(tokens));
    let in_list = |n: usize| enclosing[n].is_some_and(|open| tokens[open].is("["));
    (1..tokens.len())
        .filter_map(|n| match tokens[n].kind {
            Kind::Text { closed: true } => unjoined(tokens, n).filter(|_| !in_list(n)),
            Kind::Word => unquoted(tokens, n),
            _ => None,
        })
        .collect()
}

fn unjoined(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let (before, token) = (&tokens[n - 1], &tokens[n]);
    if before.kind != (Kind::Text { closed: true }) {
        return None;
    }
    let slip =
        Slip::at(token, "a + is missing before this text", "join two texts with +, as in \"...\" + \"...\"");
    Some(slip.with(before.end()..before.end(), " +"))
}

/// `t.ready(Push the valve in);`
fn unquoted(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let (first, second) = (&tokens[n], tokens.get(n + 1)?);
    let word = n.checked_sub(2).map(|at| &tokens[at])?;
    if !tokens[n - 1].is("(") || second.kind != Kind::Word || second.line != first.line {
        return None;
    }
    VOCABULARY.iter().find(|known| word.is(known.name) && known.stands != Stands::Inside)?;
    let line = tokens[n..].iter().take(FAR).take_while(|token| token.line == first.line);
    let line: Vec<&Token<'_>> = line.collect();
    let end = line.iter().rposition(|token| token.is(")"))?;
    let last = line.get(end.checked_sub(1)?)?;
    let is_plain = line[..end].iter().all(|token| !matches!(token.kind, Kind::Text { .. }) && !token.is("|"));
    is_plain.then(|| {
        let slip = Slip::at(first, "a text stands in double quotes", "put a \" before and behind it");
        let slip = slip.with(first.start..first.start, "\"").with(last.end()..last.end(), "\"");
        slip.covering_its_line()
    })
}
