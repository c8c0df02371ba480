use super::super::mended::Mended;
use super::super::tokens::tokens;
use super::{Slip, brackets, mend, numbers, quotes, words};

/// Finds the slips of a text that does not parse and mends them in it; returns them in the order found.
///
/// Some of them can be right in a text that does parse, `[12,7]` for one; so this is only asked where it does not. What
/// is in quotes and what is not comes first: brackets in an unclosed text are none.
pub(in super::super) fn mend_slips(text: &mut Mended) -> Vec<Slip> {
    let mut found = quotes::find(&tokens(text.text()));
    mend(text, &mut found);
    let mut others = {
        let tokens = tokens(text.text());
        let mut others = numbers::find(&tokens);
        others.extend(words::find(&tokens));
        others.extend(brackets::find(&tokens));
        others
    };
    mend(text, &mut others);
    found.extend(others);
    found
}
