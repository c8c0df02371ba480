use std::collections::HashSet;

use super::super::tokens::{Kind, Token};
use super::super::{Stands, VOCABULARY};
use super::Slip;
use super::open::{FAR, closing, enclosing, is_closing};

/// Finds words without their brackets or their point, and names that are given without `let` or without `=`.
pub(super) fn find(tokens: &[Token<'_>]) -> Vec<Slip> {
    let given = given(tokens);
    let owners = tokens.windows(3).filter(|w| w[0].is("|") && w[1].kind == Kind::Word && w[2].is("|"));
    let owners: HashSet<_> = owners.map(|w| w[1].text).collect();
    let enclosing = enclosing(tokens);
    let is_unopened = |n: usize| {
        let is_closed = tokens.get(n + 1).is_some_and(|next| next.is(")") && next.line == tokens[n].line);
        is_closed && word(&tokens[n]).is_some() && !enclosing[n].is_some_and(|open| tokens[open].is("("))
    };
    let one = |n: usize| {
        let token = &tokens[n];
        let slip = match token.kind {
            Kind::Word if is_unopened(n) => opening(token),
            Kind::Word => brackets(tokens, n)
                .or_else(|| glued(token, &given))
                .or_else(|| point(tokens, n, &owners))
                .or_else(|| name(tokens, n))
                .or_else(|| taken(tokens, n)),
            _ => None,
        };
        slip.or_else(|| unnamed(tokens, n, &given))
    };
    (0..tokens.len()).filter_map(one).collect()
}

/// Returns every name that is given somewhere: by `let`, as what a loop goes through, or as what a function takes.
fn given<'a>(tokens: &[Token<'a>]) -> HashSet<&'a str> {
    const UP_TO: &[(&str, &str)] = &[("let", "="), ("const", "="), ("for", "in"), ("fn", ")"), ("|", "|")];
    /// No list of names is longer.
    const LONGEST: usize = 24;
    let mut found = HashSet::new();
    for (n, token) in tokens.iter().enumerate() {
        let Some((_, end)) = UP_TO.iter().find(|(word, _)| token.is(word)) else { continue };
        let names = tokens[n + 1..].iter().take(LONGEST).take_while(|token| !token.is(end) && !token.is(";"));
        found.extend(names.filter(|token| token.kind == Kind::Word).map(|token| token.text));
    }
    found
}

fn begins_statement(tokens: &[Token<'_>], n: usize) -> bool {
    n.checked_sub(1).is_none_or(|before| [";", "{", "}"].iter().any(|mark| tokens[before].is(mark)))
}

fn word(token: &Token<'_>) -> Option<&'static super::super::Word> {
    VOCABULARY.iter().find(|word| token.is(word.name) && word.stands != Stands::Inside)
}

/// A word with what it takes behind it, and no bracket between: `say "..."`, `circuit #{`, `test feed;`.
fn brackets(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let (token, next) = (&tokens[n], tokens.get(n + 1)?);
    let word = word(token)?;
    let is_method = n > 0 && tokens[n - 1].is(".");
    let takes_name = next.kind == Kind::Word
        && tokens.get(n + 2).is_some_and(|end| [";", ",", "("].iter().any(|mark| end.is(mark)));
    let takes = matches!(next.kind, Kind::Text { .. })
        || next.is("#{")
        || (takes_name && begins_statement(tokens, n));
    if !takes
        || next.line != token.line
        || (n > 0 && tokens[n - 1].is("fn"))
        || (word.takes.is_empty() && !is_method)
    {
        return None;
    }
    let slip = Slip::at(
        token,
        format!("{0} needs brackets: {0}(...)", word.name),
        format!("write it like {}", word.form),
    );
    let slip = slip.with(token.end()..next.start, "(");
    let mut depth = 0_usize;
    for (at, token) in tokens.iter().enumerate().skip(n + 1).take(FAR) {
        if closing(token).is_some() {
            depth += 1;
        } else if is_closing(token) {
            let Some(less) = depth.checked_sub(1) else {
                // One closes already.
                return Some(slip);
            };
            depth = less;
        }
        let is_last = tokens.get(at + 1).is_none_or(|next| {
            next.is(";") || (next.line > token.line && !next.is("+") && !token.is("+") && !token.is(","))
        });
        if depth == 0 && is_last {
            let closes = tokens.get(at + 1).is_some_and(|next| next.is(")"));
            return Some(if closes { slip } else { slip.with(token.end()..token.end(), ")") });
        }
    }
    Some(slip)
}

/// `calibrate);`: the bracket that closes has none that opens.
fn opening(token: &Token<'_>) -> Option<Slip> {
    let slip =
        Slip::at(token, format!("a ( is missing behind {}", token.text), format!("write {}(", token.text));
    Some(slip.with(token.end()..token.end(), "("))
}

/// `testfeed);` and `testcircuit(#{`: a word and what it takes have run together where the bracket was.
fn glued(token: &Token<'_>, given: &HashSet<&str>) -> Option<Slip> {
    if given.contains(token.text) || word(token).is_some() {
        return None;
    }
    let is_known = |name: &str| given.contains(name) || VOCABULARY.iter().any(|word| word.name == name);
    let of = |word: &super::super::Word| token.text.strip_prefix(word.name).is_some_and(is_known);
    let word = VOCABULARY.iter().find(|word| word.stands != Stands::Inside && of(word))?;
    let at = token.start + word.name.len();
    let slip = Slip::at(
        token,
        format!("a ( is missing behind {}", word.name),
        format!("write it like {}", word.form),
    );
    Some(slip.with(at..at, "("))
}

/// `t read(...)` and `t, read(...)` in place of `t.read(...)`.
fn point(tokens: &[Token<'_>], n: usize, owners: &HashSet<&str>) -> Option<Slip> {
    let before = n.checked_sub(1)?;
    let before = if tokens[before].is(",") { before.checked_sub(1)? } else { before };
    let (owner, token) = (&tokens[before], &tokens[n]);
    let ahead = before.checked_sub(1).map(|ahead| &tokens[ahead]);
    let is_alone = ahead.is_some_and(|ahead| ["=", ";", "{", "}"].iter().any(|mark| ahead.is(mark)));
    let is_word = word(token).is_some_and(|word| word.stands != Stands::Alone);
    let is_owner = owners.contains(owner.text);
    if !is_word || !is_alone || !is_owner || !tokens.get(n + 1)?.is("(") || owner.line != token.line {
        return None;
    }
    let meant = format!("{}.{}", owner.text, token.text);
    let slip = Slip::at(
        owner,
        format!("a point stands between {} and {}", owner.text, token.text),
        format!("write {meant}(...)"),
    );
    Some(slip.with(owner.end()..token.start, "."))
}

/// `fn steps t) {`: what a function takes has no bracket before it.
fn taken(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    n.checked_sub(1).filter(|before| tokens[*before].is("fn"))?;
    let (token, next) = (&tokens[n], tokens.get(n + 1)?);
    let on_line = tokens[n + 1..].iter().take(FAR).take_while(|other| other.line == token.line);
    on_line.take_while(|other| !other.is("(") && !other.is("{")).find(|other| other.is(")"))?;
    let help = format!("write fn {}(...) {{", token.text);
    let slip = Slip::at(token, format!("a ( is missing behind {}", token.text), help);
    Some(slip.with(token.end()..next.start, "("))
}

/// `let lube circuit(...)` and `let lube: circuit(...)`.
fn name(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let (token, next) = (&tokens[n], tokens.get(n + 1)?);
    let before = n.checked_sub(1).map(|before| &tokens[before])?;
    if !(before.is("let") || before.is("const")) || next.line != token.line {
        return None;
    }
    let named = token.text;
    let help = format!("write {} {named} = ...", before.text);
    if next.is(":") {
        let slip = Slip::at(next, "= gives a name to something, a colon does not", help);
        return Some(slip.with(next.start..next.end(), " ="));
    }
    let is_value = next.kind != Kind::Mark || ["#{", "["].iter().any(|mark| next.is(mark));
    is_value.then(|| {
        let slip = Slip::at(next, format!("a = is missing behind {named}"), help);
        slip.with(next.start..next.start, "= ")
    })
}

/// `lube = circuit(...)` where no `let` gives that name.
fn unnamed(tokens: &[Token<'_>], n: usize, given: &HashSet<&str>) -> Option<Slip> {
    let (token, equals) = (&tokens[n], tokens.get(n + 1)?);
    let is_first = begins_statement(tokens, n) && token.kind == Kind::Word && equals.is("=");
    if !is_first || given.contains(token.text) {
        return None;
    }
    // A mistyped name stands once; one that is used as well lacks its let.
    let is_used = tokens.iter().filter(|other| other.is(token.text)).nth(1).is_some();
    if !is_used && super::super::nearest(token.text, given.iter().copied()).is_some() {
        return None;
    }
    let slip =
        Slip::at(token, format!("{} has no let", token.text), format!("write let {} = ...", token.text));
    Some(slip.with(token.start..token.start, "let "))
}
