use std::ops::Range;

use rhai::Position;

use super::super::Diagnostic;
use super::super::mended::Mended;
use super::super::tokens::Token;

/// A slip of the pen.
#[derive(Debug, Clone)]
pub(in super::super) struct Slip {
    /// Where it begins, in bytes.
    pub(in super::super) at: usize,
    position: Position,
    message: String,
    help: String,
    /// What to put in place of which bytes, so that the rest parses.
    edits: Vec<(Range<usize>, String)>,
}

impl Slip {
    /// Makes a slip at a token: what was found, and what to write instead.
    pub(super) fn at(token: &Token<'_>, message: impl Into<String>, help: impl Into<String>) -> Slip {
        Slip {
            at: token.start,
            position: token.position(),
            message: message.into(),
            help: help.into(),
            edits: Vec::new(),
        }
    }

    /// Adds an edit that mends it.
    #[must_use]
    pub(super) fn mend(mut self, bytes: Range<usize>, with: impl Into<String>) -> Slip {
        self.edits.push((bytes, with.into()));
        self
    }

    /// Returns the diagnostic of it.
    pub(in super::super) fn diagnostic(&self, file: &str) -> Diagnostic {
        Diagnostic::new(file, self.position, self.message.as_str()).help(self.help.as_str())
    }
}

/// Mends every slip in a text; edits that overlap an earlier one are left out.
pub(in super::super) fn mend(text: &mut Mended, slips: &[Slip]) {
    let mut edits: Vec<_> = slips.iter().flat_map(|slip| &slip.edits).collect();
    edits.sort_by_key(|(bytes, _)| (bytes.start, bytes.end));
    let mut free_from = 0;
    edits.retain(|(bytes, _)| {
        let is_free = bytes.start >= free_from;
        free_from = free_from.max(bytes.end);
        is_free
    });
    // From the end, so that what is still to be mended has not moved.
    for (bytes, with) in edits.into_iter().rev() {
        text.replace(bytes.clone(), with);
    }
}
