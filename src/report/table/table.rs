use super::{Chart, Histogram, Shares};

/// A table that answers a question, with a picture where one helps.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// What it answers.
    pub title: String,
    /// The heads of the columns; the first column names the row.
    pub heads: Vec<&'static str>,
    /// The rows, a cell for each head.
    pub rows: Vec<Vec<String>>,
    /// A picture of it.
    pub picture: Option<Picture>,
    /// What to know when reading it.
    pub notes: Vec<String>,
}

/// A picture of a table.
#[derive(Debug, Clone, PartialEq)]
pub enum Picture {
    /// How the verdicts are shared out, a bar for each row.
    Shares(Vec<Shares>),
    /// How readings spread over the scale.
    Histogram(Histogram),
    /// Values in the order of time with the limits of their ordinary scatter.
    Charts(Vec<Chart>),
}

impl Table {
    /// Begins a table without rows.
    pub fn new(title: impl Into<String>, heads: &[&'static str]) -> Table {
        Table {
            title: title.into(),
            heads: heads.to_vec(),
            rows: Vec::new(),
            picture: None,
            notes: Vec::new(),
        }
    }

    /// Adds a row.
    pub fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(cells.into_iter().collect());
    }

    /// Adds something to know.
    pub fn note(&mut self, note: impl Into<String>) {
        self.notes.push(note.into());
    }

    /// Returns whether a column holds numbers, which stand to the right; the first one names the rows.
    pub(in crate::report) fn is_numeric(&self, column: usize) -> bool {
        let mut cells = self.rows.iter().filter_map(|row| row.get(column)).filter(|cell| !cell.is_empty());
        column > 0 && cells.all(|cell| cell.parse::<f64>().is_ok())
    }
}
