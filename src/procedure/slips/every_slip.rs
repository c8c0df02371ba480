use super::super::tokens::tokens;
use super::{Slip, brackets, numbers, quotes, words};

/// Finds the slips of a text that does not parse, in the order of the text.
///
/// Some of them can be right in a text that does parse, `[12,7]` for one; so this is only asked where it does not.
pub(in super::super) fn slips(text: &str) -> Vec<Slip> {
    let tokens = tokens(text);
    let mut found = quotes::find(&tokens);
    found.extend(numbers::find(&tokens));
    found.extend(words::find(&tokens));
    found.extend(brackets::find(&tokens));
    found.sort_by_key(|slip| slip.at);
    found
}
