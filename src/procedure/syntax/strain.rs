//! How strange a text looks, which tells a likely edit from an unlikely one.

use super::lexicon::Lexicon;
use super::tokens::{Kind, Token, closing, is_closing};

/// Counts what makes a text look other than anybody would have meant it: brackets without partners or closed
/// off their margin, texts that are not closed, and words that mean nothing.
pub(super) fn strain(tokens: &[Token<'_>], lexicon: &Lexicon) -> usize {
    // What closes each open bracket, and the column of the first token on its line.
    let mut open: Vec<(&str, usize)> = Vec::new();
    let (mut strain, mut margin) = (0, 1);
    for (n, token) in tokens.iter().enumerate() {
        let is_first = n == 0 || tokens[n - 1].line < token.line;
        if is_first {
            margin = token.column;
        }
        strain += match token.kind {
            Kind::Text { closed } => 3 * usize::from(!closed),
            _ => usize::from(lexicon.is_unknown(tokens, n)),
        };
        if is_closing(token) {
            let partner = open.iter().rev().take(3).position(|(closing, _)| *closing == token.text);
            // What is still open above its partner is left open.
            strain += partner.unwrap_or(1) * 3;
            if let Some(above) = partner {
                open.truncate(open.len() - above);
                let opened = open.pop();
                strain += usize::from(is_first && opened.is_some_and(|(_, margin)| margin != token.column));
            }
        }
        open.extend(closing(token).map(|closing| (closing, margin)));
    }
    strain + 3 * open.len()
}
