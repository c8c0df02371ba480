//! What a procedure declares of itself, found in the tokens of its text.

use std::ops::Range;

use crate::procedure::Token;

/// Returns the first token of the description that a procedure declares itself with; none where that is not written
/// out where it is called.
pub(super) fn declaration(tokens: &[Token<'_>]) -> Option<usize> {
    const CALL: [&str; 3] = ["procedure", "(", "#{"];
    let is_call = |three: &[Token<'_>]| three.iter().zip(CALL).all(|(token, wanted)| token.is(wanted));
    Some(tokens.windows(CALL.len()).position(is_call)? + CALL.len())
}

/// Returns the tokens of the value behind a key of that description which stands there without quotes.
pub(super) fn value_of<'p, 't>(tokens: &'p [Token<'t>], key: &str) -> Option<&'p [Token<'t>]> {
    let declared = entries(tokens, declaration(tokens)?);
    let entry = declared.into_iter().find(|entry| tokens[entry.start].is(key))?;
    tokens.get(entry.start + 2..entry.end)
}

/// Returns the entries of a description whose first token this is, each from its key to its value's last token.
pub(super) fn entries(tokens: &[Token<'_>], first: usize) -> Vec<Range<usize>> {
    let (mut found, mut start, mut depth) = (Vec::new(), first, 0);
    for (at, token) in tokens.iter().enumerate().skip(first) {
        let is_mark = |marks: &[&str]| marks.iter().any(|mark| token.is(mark));
        if is_mark(&["(", "[", "{", "#{"]) {
            depth += 1;
        } else if is_mark(&[")", "]", "}"]) {
            if depth == 0 {
                found.push(start..at);
                break;
            }
            depth -= 1;
        } else if depth == 0 && is_mark(&[","]) {
            found.push(start..at);
            start = at + 1;
        }
    }
    found.retain(|entry: &Range<usize>| entry.len() > 2);
    found
}

/// A key as it is written, with or without quotes.
pub(super) fn name<'a>(token: &Token<'a>) -> &'a str {
    token.text.trim_matches('"')
}
