//! A script cut into pieces that can be parsed by themselves.

use std::ops::Range;

use super::tokens::{Kind, Token, closing, is_closing};

/// Cuts a text into pieces that can be parsed by themselves, each with how many lines stand before it: at words in the
/// first column; in a text without indentation what brackets hold together stays together.
pub(super) fn pieces(text: &str, tokens: &[Token<'_>]) -> Vec<(Range<usize>, usize)> {
    let begins = |n: usize| {
        let is_key = tokens.get(n + 1).is_some_and(|next| next.is(":"))
            && !tokens.get(n + 2).is_some_and(|next| next.is(":"));
        tokens[n].column == 1 && tokens[n].kind == Kind::Word && !tokens[n].is("else") && !is_key
    };
    let is_flat = is_flat(tokens);
    let mut starts = vec![(0, 0)];
    let mut depth = 0_usize;
    for (n, token) in tokens.iter().enumerate() {
        if n > 0 && begins(n) && !(is_flat && depth > 0) {
            starts.push((token.start, token.line - 1));
        }
        if closing(token).is_some() {
            depth += 1;
        } else if is_closing(token) {
            depth = depth.saturating_sub(1);
        }
    }
    let ends = starts.iter().skip(1).map(|(start, _)| *start).chain([text.len()]);
    starts.iter().zip(ends).map(|((start, line), end)| (*start..end, *line)).collect()
}

/// Returns whether what stands in brackets begins at the left edge more often than further in.
fn is_flat(tokens: &[Token<'_>]) -> bool {
    let opened = tokens.windows(2).filter(|pair| closing(&pair[0]).is_some() && pair[0].line < pair[1].line);
    let (flat, indented): (Vec<_>, Vec<_>) = opened.partition(|pair| pair[1].column == 1);
    flat.len() > indented.len()
}
