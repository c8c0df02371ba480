use std::ops::Range;

/// A text with places of it mended, and where each place of it was in the original.
#[derive(Debug)]
pub(crate) struct Mended {
    text: String,
    changes: Vec<Change>,
}

/// One place that was mended, on one line.
#[derive(Debug)]
struct Change {
    line: usize,
    column: usize,
    old_width: usize,
    new_width: usize,
}

impl Mended {
    /// Begins with the original.
    pub(crate) fn new(text: &str) -> Mended {
        Mended { text: text.to_owned(), changes: Vec::new() }
    }

    /// Returns the text as it is now.
    pub(crate) fn text(&self) -> &str {
        &self.text
    }

    /// Puts a text in place of these bytes; neither may bring or take away lines in the middle.
    pub(crate) fn replace(&mut self, bytes: Range<usize>, with: &str) {
        let line_start = self.text[..bytes.start].rfind('\n').map_or(0, |at| at + 1);
        let first_line = |text: &str| text.split('\n').next().map_or(0, |line| line.chars().count());
        self.changes.push(Change {
            line: self.text[..bytes.start].matches('\n').count() + 1,
            column: self.text[line_start..bytes.start].chars().count() + 1,
            old_width: first_line(&self.text[bytes.clone()]),
            new_width: first_line(with),
        });
        self.text.replace_range(bytes, with);
    }

    /// Returns the column in the original of a column in the text as it is now.
    pub(crate) fn original_column(&self, line: usize, column: usize) -> usize {
        let changes = self.changes.iter().rev().filter(|change| change.line == line);
        changes.fold(column, |column, change| {
            let into = column.saturating_sub(change.column);
            if column < change.column {
                column
            } else if into >= change.new_width {
                column - change.new_width + change.old_width
            } else {
                change.column + into.min(change.old_width.saturating_sub(1))
            }
        })
    }
}
