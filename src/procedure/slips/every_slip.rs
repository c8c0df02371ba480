use super::super::mended::Mended;
use super::super::tokens::{Token, tokens};
use super::{Slip, blocks, brackets, calls, mend, numbers, quotes, steps, words};

/// What looks for slips in a text at the same time.
type Finders = &'static [fn(&[Token<'_>]) -> Vec<Slip>];

/// The stages in which slips are looked for, each in what those before it have mended.
const STAGES: &[Finders] =
    &[&[numbers::find, words::find], &[calls::find], &[steps::find, blocks::find], &[brackets::find]];

/// Finds the slips of a text that does not parse and mends them in it; returns them in the order found.
///
/// Some of them can be right in a text that does parse, `[12,7]` for one; so this is only asked where it does not. What
/// is in quotes and what is not comes first: brackets in an unclosed text are none.
pub(in super::super) fn mend_slips(text: &mut Mended) -> Vec<Slip> {
    let mut found = quotes::find(&tokens(text.text()));
    mend(text, &mut found);
    // Where a block or a call begins comes before where it ends: what is left open tells little as long as that is not
    // known.
    for stage in STAGES {
        let mut others: Vec<_> = {
            let tokens = tokens(text.text());
            stage.iter().flat_map(|find| find(&tokens)).collect()
        };
        mend(text, &mut others);
        found.extend(others);
    }
    found
}
