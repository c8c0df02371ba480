//! How strange a text looks, which tells a likely edit from an unlikely one.

use super::lexicon::Lexicon;
use super::tokens::{Kind, Token, closing, is_closing};
use super::word_named;

/// A bracket that is open.
struct Open<'t> {
    closing: &'static str,
    /// The column of the first token on its line.
    margin: usize,
    /// The column of the first line that begins in it.
    inner: Option<usize>,
    token: &'t Token<'t>,
    /// The word whose description or list it is.
    owner: Option<&'t str>,
}

/// Counts what makes a text look other than anybody would have meant it: brackets without partners, lines that stand
/// otherwise than their brackets say, texts that touch words, and words that mean nothing.
pub(super) fn strain(tokens: &[Token<'_>], lexicon: &Lexicon) -> usize {
    let mut open: Vec<Open<'_>> = Vec::new();
    let (mut strain, mut margin) = (0, 1);
    for (n, token) in tokens.iter().enumerate() {
        let before = n.checked_sub(1).map(|before| &tokens[before]);
        let is_first = before.is_none_or(|before| before.line < token.line);
        if is_first {
            margin = token.column;
        }
        strain += match token.kind {
            Kind::Text { closed } => text(tokens, n, closed),
            _ => {
                let known = open.last().filter(|open| open.token.is("#{")).and_then(|open| open.owner);
                let keys = known.and_then(word_named).map(|word| word.keys).filter(|keys| !keys.is_empty());
                let is_key = token.kind == Kind::Word && tokens.get(n + 1).is_some_and(|next| next.is(":"));
                let is_strange =
                    keys.filter(|_| is_key).map(|keys| !keys.iter().any(|key| key.name == token.text));
                usize::from(is_strange.unwrap_or_else(|| lexicon.is_unknown(tokens, n)))
            }
        };
        if is_closing(token) {
            let partner = open.iter().rev().take(3).position(|open| open.closing == token.text);
            // What is still open above its partner is left open.
            strain += partner.unwrap_or(1) * 3;
            if let Some(above) = partner {
                open.truncate(open.len() - above);
                let opened = open.pop();
                strain += usize::from(is_first && opened.is_some_and(|opened| opened.margin != token.column));
            }
            continue;
        }
        if is_first {
            match open.last_mut() {
                Some(around) => {
                    let begins = before.is_some_and(|before| {
                        [";", ",", "}"].iter().any(|mark| before.is(mark))
                            || std::ptr::eq(before, around.token)
                    });
                    let is_uneven = begins && around.inner.is_some_and(|inner| inner != token.column);
                    strain += usize::from(token.column <= around.margin || is_uneven);
                    around.inner = around.inner.or(begins.then_some(token.column));
                }
                None => {
                    let is_deeper = token.column > tokens[0].column;
                    let begins = before.is_some_and(|before| before.is(";") || before.is("}"));
                    strain += usize::from(is_deeper && begins && !token.is("else"));
                }
            }
        }
        if let Some(closing) = closing(token) {
            let is_own = before.is_some_and(|before| before.is("(") || before.is(":")) && n > 1;
            let owner =
                if is_own { Some(tokens[n - 2].text) } else { open.last().and_then(|open| open.owner) };
            open.push(Open { closing, margin, inner: None, token, owner });
        }
    }
    strain + 3 * open.len()
}

/// Counts what is strange about a text: that it touches a word, or looks as if what is between two texts were the text.
fn text(tokens: &[Token<'_>], n: usize, closed: bool) -> usize {
    let token = &tokens[n];
    let is_mark = |other: &Token<'_>| other.kind == Kind::Mark;
    let before = n.checked_sub(1).map(|before| &tokens[before]);
    let touches = before.is_some_and(|before| before.end() == token.start && !is_mark(before))
        || tokens.get(n + 1).is_some_and(|after| after.start == token.end() && !is_mark(after));
    let inside = token.text.trim_matches('"');
    let is_between = inside.starts_with([',', ')', ']', ';', ':', '+']) || inside.ends_with([',', '(', '[']);
    usize::from(touches) + usize::from(is_between) + 3 * usize::from(!closed)
}
