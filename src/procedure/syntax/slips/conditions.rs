use std::cell::LazyCell;
use std::collections::HashSet;

use super::super::tokens::{Kind, Token};
use super::Slip;
use super::open::{FAR, enclosing};

/// What a reading can be asked, behind a point.
const ASKED: [&str; 4] = ["holds", "worn", "leaks", "retest"];

/// Finds conditions in which the verdict stands beside its reading, and `if`s that are not there or begin no block.
pub(super) fn find(tokens: &[Token<'_>]) -> Vec<Slip> {
    let named: HashSet<&str> =
        tokens.windows(2).filter(|pair| pair[0].is("let")).map(|pair| pair[1].text).collect();
    let enclosing = LazyCell::new(|| enclosing(tokens));
    let mut found = Vec::new();
    for (n, token) in tokens.iter().enumerate() {
        let is_key = tokens.get(n + 1).is_some_and(|after| after.is(":"));
        if (token.is("if") || token.is("while")) && !is_key {
            found.extend(verdicts(tokens, n, &named));
            found.extend(round_block(tokens, n));
        } else if token.is("else") && !is_key {
            found.extend(without_if(tokens, n).or_else(|| round_block(tokens, n)));
        } else if ["=", "==", "!="].iter().any(|mark| token.is(mark)) {
            found.extend(surplus_equals(tokens, n));
        } else if token.is("{") {
            found.extend(call_before(tokens, n, &enclosing).or_else(|| asked_before(tokens, n)));
        }
    }
    found
}

/// `if outboard = leaks {`, `if outboard leaks {`, `if outboard is leaks {`: a verdict stands behind a point.
fn verdicts(tokens: &[Token<'_>], n: usize, named: &HashSet<&str>) -> Vec<Slip> {
    let line = tokens[n].line;
    let condition = |at: &usize| tokens[*at].line == line && !tokens[*at].is("{") && !tokens[*at].is(";");
    let mut found = Vec::new();
    for at in (n + 2..tokens.len()).take(FAR).take_while(condition) {
        let verdict = &tokens[at];
        if !ASKED.contains(&verdict.text) || verdict.kind != Kind::Word || named.contains(verdict.text) {
            continue;
        }
        let between = &tokens[at - 1];
        let is_between = ["=", "==", "!=", "is"].iter().any(|mark| between.is(mark));
        let owner = &tokens[if is_between { at - 2 } else { at - 1 }];
        let is_owner = owner.kind == Kind::Word
            && !["if", "while", "is", "not", "and", "or", "else"].iter().any(|word| owner.is(word));
        if !is_owner {
            continue;
        }
        let not = if between.is("!=") { "!" } else { "" };
        let meant = format!("{not}{}.{}", owner.text, verdict.text);
        let slip = Slip::at(
            if is_between { between } else { verdict },
            "a verdict stands behind a point",
            format!("write {meant}"),
        );
        found.push(slip.with(owner.start..verdict.end(), meant));
    }
    found
}

/// `===`, `!==` and `=:`.
fn surplus_equals(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let (token, next) = (&tokens[n], tokens.get(n + 1).filter(|next| next.start == tokens[n].end())?);
    let meant = match (token.text, next.text) {
        ("==" | "!=", "=") => token.text,
        ("=", ":") => "==",
        _ => return None,
    };
    let slip =
        Slip::at(token, format!("{}{} compares nothing", token.text, next.text), format!("write {meant}"));
    Some(slip.with(token.start..next.end(), meant))
}

/// `else x.leaks {` and `else (x.leaks) {`.
fn without_if(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let (token, next) = (&tokens[n], tokens.get(n + 1)?);
    if next.is("{") || next.is("if") || next.line != token.line {
        return None;
    }
    let on_line = tokens[n + 1..].iter().take(FAR).take_while(|other| other.line == token.line);
    let last = on_line.last()?;
    if !last.is("{") || last.start == next.start {
        return None;
    }
    let slip = Slip::at(token, "an if is missing behind this else", "write else if ... {");
    Some(slip.with(token.end()..token.end(), " if"))
}

/// `if x.leaks (` at the end of a line, with steps below it.
fn round_block(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let line = tokens[n].line;
    let end = tokens[n..].iter().take(FAR).position(|token| token.line > line)? + n;
    let (last, next) = (&tokens[end - 1], &tokens[end]);
    let after = tokens.get(end + 1)?;
    let first = tokens.partition_point(|token| token.line < line);
    let is_step = next.kind == Kind::Word
        && next.column > tokens[first].column
        && [".", "("].iter().any(|mark| after.is(mark));
    if !(last.is("(") || last.is("["))
        || end < n + 2
        || !(is_step || ["let", "if", "for"].iter().any(|word| next.is(word)))
    {
        return None;
    }
    let slip = Slip::at(last, "a block begins with {", format!("write {{ instead of {}", last.text));
    Some(slip.with(last.start..last.end(), "{"))
}

/// `outboard.holds {`
fn asked_before(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let first = n.checked_sub(3)?;
    let [owner, point, verdict, _] = &tokens[first..=n] else { return None };
    let begins = first.checked_sub(1).is_none_or(|before| {
        let before = &tokens[before];
        [";", "{", "}"].iter().any(|mark| before.is(mark)) && before.line < owner.line
    });
    let is_asked = owner.kind == Kind::Word && point.is(".") && ASKED.contains(&verdict.text);
    (begins && is_asked).then(|| {
        let slip = Slip::at(owner, "an if is missing before this", "write if ... {");
        slip.with(owner.start..owner.start, "if ")
    })
}

/// `t.ask_yes("...") {`: what is done where it is so has no `if`.
fn call_before(
    tokens: &[Token<'_>],
    n: usize,
    enclosing: &impl std::ops::Deref<Target = Vec<Option<usize>>>,
) -> Option<Slip> {
    let closed = n.checked_sub(1)?;
    if !tokens[closed].is(")") || tokens[closed].line != tokens[n].line {
        return None;
    }
    let around = enclosing[closed];
    let open = (0..closed).rev().take(FAR).find(|at| tokens[*at].is("(") && enclosing[*at] == around)?;
    let mut first = open.checked_sub(1)?;
    while first >= 2 && tokens[first - 1].is(".") && tokens[first - 2].kind == Kind::Word {
        first -= 2;
    }
    let token = &tokens[first];
    let begins = first.checked_sub(1).is_none_or(|before| {
        let before = &tokens[before];
        [";", "{", "}"].iter().any(|mark| before.is(mark)) && before.line < token.line
    });
    let is_call = token.kind == Kind::Word
        && !["if", "while", "for", "fn", "switch", "test", "circuit"].iter().any(|word| token.is(word));
    if !begins || !is_call {
        return None;
    }
    let slip = Slip::at(token, "an if is missing before this", "write if ... {");
    Some(slip.with(token.start..token.start, "if "))
}
