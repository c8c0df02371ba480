use super::super::mended::Mended;
use super::super::tokens::{Token, tokens};
use super::{
    Slip, blocks, brackets, calls, closers, conditions, kinds, lists, mend, names, notes, numbers, quotes,
    steps, surplus, texts, words,
};

/// What looks for slips in a text at the same time.
type Finders = &'static [fn(&[Token<'_>]) -> Vec<Slip>];

/// The stages in which slips are looked for, each in what those before it have mended.
const STAGES: &[Finders] = &[
    &[notes::find],
    &[names::find],
    &[quotes::find],
    &[numbers::find, words::find, texts::find],
    &[surplus::find, lists::find],
    &[conditions::find],
    &[kinds::find_opening],
    &[calls::find],
    &[steps::find, blocks::find],
    &[kinds::find_closing],
    &[closers::find],
    &[brackets::find],
];

/// Finds the slips of a text that does not parse and mends them in it; returns them in the order found.
///
/// Some of them can be right in a text that does parse, `[12,7]` for one; so this is only asked where it does not.
pub(in super::super) fn mend_slips(text: &mut Mended) -> Vec<Slip> {
    let mut found = Vec::new();
    // What is no script at all comes first, then what is in quotes and what is not: brackets in an unclosed text are none.
    // Where a block or a call begins comes before where it ends: what is left open tells little as long as that is not
    // known.
    let mut stages = STAGES.iter().peekable();
    while stages.peek().is_some() {
        let mut others = {
            let tokens = tokens(text.text());
            let find = |stage: &Finders| stage.iter().flat_map(|find| find(&tokens)).collect::<Vec<_>>();
            // The text stays as it is until something is found in it.
            stages.by_ref().map(find).find(|slips| !slips.is_empty()).unwrap_or_default()
        };
        mend(text, &mut others);
        found.extend(others);
    }
    found
}
