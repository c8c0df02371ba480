//! The slips of the pen that people make who write a procedure, found in the text before the engine parses it, each with
//! an edit that lets the rest be checked in the same run.

mod brackets;
mod numbers;
mod quotes;
mod slip;
mod words;

pub(super) use slip::{Slip, mend};

use super::tokens::tokens;

/// Finds the slips of a text that does not parse, in the order of the text.
///
/// Some of them can be right in a text that does parse, `[12,7]` for one; so this is only asked where it does not.
pub(super) fn slips(text: &str) -> Vec<Slip> {
    let tokens = tokens(text);
    let mut found = quotes::find(&tokens);
    found.extend(numbers::find(&tokens));
    found.extend(words::find(&tokens));
    found.extend(brackets::find(&tokens));
    found.sort_by_key(|slip| slip.at);
    found
}
