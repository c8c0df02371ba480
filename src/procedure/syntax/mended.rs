use std::ops::Range;

/// A text with places of it mended, and where each place of it was in the original.
#[derive(Debug)]
pub(crate) struct Mended {
    text: String,
    /// Each place that was mended: its line, its column, how wide it was and how wide it is.
    changes: Vec<[usize; 4]>,
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
        let line = self.text[..bytes.start].matches('\n').count() + 1;
        let column = self.text[line_start..bytes.start].chars().count() + 1;
        let widths = (first_line(&self.text[bytes.clone()]), first_line(with));
        self.changes.push([line, column, widths.0, widths.1]);
        self.text.replace_range(bytes, with);
    }

    /// Returns the column in the original of a column in the text as it is now.
    pub(crate) fn original_column(&self, line: usize, column: usize) -> usize {
        let changes = self.changes.iter().rev().filter(|change| change[0] == line);
        changes.fold(column, |column, [_, start, was, is]| match column.checked_sub(*start) {
            None => column,
            Some(into) if into >= *is => column - is + was,
            Some(into) => start + into.min(was.saturating_sub(1)),
        })
    }
}
