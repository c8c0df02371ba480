use super::super::VOCABULARY;
use super::super::tokens::{Kind, Token};
use super::Slip;

/// Finds names that are no single word: `let in board = ...`, `let out-board = ...`, `let 2nd = ...`, and keys like `set-up:`.
pub(super) fn find(tokens: &[Token<'_>]) -> Vec<Slip> {
    (0..tokens.len()).filter_map(|n| given(tokens, n).or_else(|| key(tokens, n))).collect()
}

/// What `let` gives a name to.
fn given(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let token = &tokens[n];
    if !token.is("let") && !token.is("const") {
        return None;
    }
    let line = tokens[n + 1..].iter().take_while(|other| other.line == token.line);
    let name: Vec<&Token<'_>> = line.take_while(|other| !other.is("=")).take(4).collect();
    let (first, last) = (name.first()?, name.last()?);
    let is_part = |part: &&Token<'_>| part.kind == Kind::Word || part.kind == Kind::Number || part.is("-");
    let is_given = tokens.get(n + 1 + name.len()).is_some_and(|next| next.is("="));
    if name.len() < 2 || !is_given || !name.iter().all(is_part) {
        return None;
    }
    let words = name.iter().filter(|part| !part.is("-")).map(|part| part.text);
    let is_number = first.kind == Kind::Number;
    let (mut words, glued): (Vec<&str>, String) = (words.clone().collect(), words.collect());
    if is_number {
        // A name begins with a letter: what follows the figure goes in front.
        words.rotate_left(1);
    }
    let meant = words.join("_");
    let used = |name: &str| tokens.iter().any(|token| token.is(name));
    let meant = if used(&glued) { glued } else { meant };
    let message = if is_number { "a name begins with a letter" } else { "a name is one word" };
    let slip = Slip::at(first, message, format!("write {} {meant} = ...", token.text));
    Some(slip.with(first.start..last.end(), meant).covering_its_line())
}

/// A key of a description in two words.
fn key(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let first = &tokens[n];
    let is_begun =
        n.checked_sub(1).is_none_or(|before| [",", "#{", "{"].iter().any(|mark| tokens[before].is(mark)));
    if first.kind != Kind::Word || !is_begun {
        return None;
    }
    let second = if tokens.get(n + 1)?.is("-") { n + 2 } else { n + 1 };
    let (last, colon) = (tokens.get(second)?, tokens.get(second + 1)?);
    let meant = format!("{}_{}", first.text, last.text);
    let is_key = VOCABULARY.iter().flat_map(|word| word.keys).any(|key| key.name == meant);
    (is_key && colon.is(":") && last.kind == Kind::Word).then(|| {
        let slip = Slip::at(first, "a key is one word", format!("write {meant}:"));
        slip.with(first.start..last.end(), meant)
    })
}
