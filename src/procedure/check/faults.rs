use rhai::Position;

use super::super::Diagnostic;
use super::super::mended::Mended;
use super::super::source::SourceFile;

/// The faults found in one file.
pub(super) struct Faults<'a> {
    file: &'a SourceFile,
    mended: &'a Mended,
    found: Vec<Diagnostic>,
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
        let fault = Diagnostic::new(&self.file.name, position, message);
        let mut fault = Diagnostic { help: help.into(), ..fault };
        fault.set_column(self.mended);
        // The walk comes by some nodes twice, and what is said first about a place is the most to the point.
        let is_known = self.found.iter().any(|f| (f.line, f.column) == (fault.line, fault.column));
        if !is_known {
            self.found.push(fault);
        }
    }

    /// Returns the text that was parsed.
    pub(super) fn text(&self) -> &'a str {
        self.mended.text()
    }

    /// Returns everything that was found.
    pub(super) fn into_found(self) -> Vec<Diagnostic> {
        self.found
    }
}
