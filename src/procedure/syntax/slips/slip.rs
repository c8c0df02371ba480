use std::ops::Range;

use super::super::Fault;
use super::super::mended::Mended;
use super::super::tokens::{Token, position};

/// A slip of the pen.
#[derive(Debug, Clone)]
pub(in super::super) struct Slip {
    line: usize,
    column: usize,
    message: String,
    help: String,
    /// On how many lines from its own on whatever else is found follows from it.
    covers: usize,
    /// What to put in place of which bytes, so that the rest parses.
    edits: Vec<(Range<usize>, String)>,
}

impl Slip {
    /// Makes a slip at a token: what was found, and what to write instead.
    pub(super) fn at(token: &Token<'_>, message: impl Into<String>, help: impl Into<String>) -> Slip {
        Slip {
            line: token.line,
            column: token.column,
            message: message.into(),
            help: help.into(),
            covers: 0,
            edits: Vec::new(),
        }
    }

    /// Adds an edit that mends it.
    #[must_use]
    pub(super) fn with(mut self, bytes: Range<usize>, with: impl Into<String>) -> Slip {
        self.edits.push((bytes, with.into()));
        self
    }

    /// Says that whatever else is found on its line follows from it: where a quote is missing, what is text and what is not
    /// has changed places.
    #[must_use]
    pub(super) fn covering_its_line(self) -> Slip {
        Slip { covers: 1, ..self }
    }

    /// Says the same of its line and the next.
    #[must_use]
    pub(super) fn covering_two_lines(self) -> Slip {
        Slip { covers: 2, ..self }
    }

    /// Returns the lines on which whatever else is found follows from it.
    pub(in super::super) fn covered_lines(&self) -> Range<usize> {
        self.line..self.line + self.covers
    }

    /// Returns the fault of it.
    pub(in super::super) fn fault(&self, file: &str) -> Fault {
        Fault::new(file, position(self.line, self.column), self.message.as_str()).help(self.help.as_str())
    }
}

/// Mends slips in the text that they were found in; edits that overlap an earlier one are left out. The slips are put
/// back to where they are in the author's text.
pub(super) fn mend(text: &mut Mended, slips: &mut [Slip]) {
    for slip in &mut *slips {
        slip.column = text.original_column(slip.line, slip.column);
    }
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
