use rhai::Position;

use super::super::Fault;
use super::super::host::SourceFile;
use super::super::syntax::Mended;

/// The most faults that are reported of one file: more are of no use to anybody, and each costs a comparison with all
/// before it.
const MOST_FAULTS: usize = 40;

/// The faults found in one file.
pub(super) struct Faults<'a> {
    file: &'a SourceFile,
    mended: &'a Mended,
    found: Vec<Fault>,
}

impl<'a> Faults<'a> {
    /// Begins with none, for a file of which this text was parsed.
    pub(super) fn new(file: &'a SourceFile, mended: &'a Mended) -> Faults<'a> {
        Faults { file, mended, found: Vec::new() }
    }

    /// Adds a fault; what is found twice at one place counts once.
    pub(super) fn report(
        &mut self,
        position: Position,
        message: impl Into<String>,
        help: impl Into<Option<String>>,
    ) {
        self.add(position, Fault { help: help.into(), ..Fault::of(message) });
    }

    /// Adds a fault at a position.
    pub(super) fn add(&mut self, position: Position, fault: Fault) {
        if self.is_full() {
            return;
        }
        let mut fault = fault.placed(&self.file.name, position);
        fault.set_column(self.mended);
        // The walk comes by some nodes twice, and what is said first about a place is the most to the point.
        let is_known = self.found.iter().any(|f| (f.line, f.column) == (fault.line, fault.column));
        if !is_known {
            self.found.push(fault);
        }
    }

    /// Returns whether no more faults are taken.
    pub(super) fn is_full(&self) -> bool {
        self.found.len() >= MOST_FAULTS
    }

    /// Returns the text that was parsed.
    pub(super) fn text(&self) -> &'a str {
        self.mended.text()
    }

    /// Returns everything that was found.
    pub(super) fn into_found(self) -> Vec<Fault> {
        self.found
    }
}
