//! A text with places of it mended, from which columns lead back to the author's.

use std::ops::Range;

/// A text with places of it mended, and where each place of it was in the original.
#[derive(Debug)]
pub(crate) struct Mended {
    text: String,
    /// Each place that was mended, as far as it stands on one line.
    changes: Vec<Change>,
}

/// A place that was mended.
#[derive(Debug)]
struct Change {
    line: usize,
    column: usize,
    was: String,
    is: String,
}

impl Mended {
    /// Begins with the original.
    pub(crate) fn new(text: &str) -> Mended {
        Mended { text: text.to_owned(), changes: Vec::new() }
    }

    pub(crate) fn text(&self) -> &str {
        &self.text
    }

    /// Puts a text in place of these bytes; neither may bring or take away lines in the middle.
    pub(crate) fn replace(&mut self, bytes: Range<usize>, with: &str) {
        let line_start = self.text[..bytes.start].rfind('\n').map_or(0, |at| at + 1);
        let first_line = |text: &str| text.split('\n').next().unwrap_or_default().to_owned();
        let line = self.text[..bytes.start].matches('\n').count() + 1;
        let column = self.text[line_start..bytes.start].chars().count() + 1;
        let (was, is) = (first_line(&self.text[bytes.clone()]), first_line(with));
        self.changes.push(Change { line, column, was, is });
        self.text.replace_range(bytes, with);
    }

    /// Returns the column in the original of a column in the text as it is now.
    pub(crate) fn original_column(&self, line: usize, column: usize) -> usize {
        let changes = self.changes.iter().rev().filter(|change| change.line == line);
        changes.fold(column, |column, change| {
            column.checked_sub(change.column).map_or(column, |into| change.column + change.original(into))
        })
    }
}

impl Change {
    /// Returns where in the original stood what is so many characters into it: what it begins with, where
    /// that was there before.
    fn original(&self, into: usize) -> usize {
        let (was, is) = (self.was.chars().count(), self.is.chars().count());
        let Some((at, first)) = self.is.char_indices().nth(into) else { return into - is + was };
        let rest = &self.is[at..];
        let is_inside = |c: char| c.is_alphanumeric() || c == '_';
        let end = rest.find(|c| !is_inside(c)).unwrap_or(rest.len()).max(first.len_utf8());
        let kept = &rest[..end];
        let same = self.was.match_indices(kept).nth(self.is[..at].matches(kept).count());
        same.map_or(into.min(was.saturating_sub(1)), |(found, _)| self.was[..found].chars().count())
    }
}
