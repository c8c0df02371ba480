use serde_json::{Number, Value};

use super::rows::ReadingRow;
use super::{Bars, Chart, Dots, Histogram, Shares, markup::Markup};
use crate::console::{Screen, clean};
use crate::quantity::Unit;

/// What stands in a cell: what people see and, where that is a number, all its digits for programs.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Cell {
    pub(super) shown: String,
    number: Option<Number>,
}

impl Cell {
    pub(crate) fn count(n: impl Into<Number>) -> Cell {
        let number = n.into();
        Cell { shown: number.to_string(), number: Some(number) }
    }

    pub(crate) fn figure(figure: f64, shown: String) -> Cell {
        Cell { shown, number: Number::from_f64(figure) }
    }

    /// Returns what programs get: null where there is nothing to be seen.
    fn value(&self) -> Value {
        match &self.number {
            Some(number) => Value::Number(number.clone()),
            None if self.shown.is_empty() => Value::Null,
            None => Value::String(self.shown.clone()),
        }
    }
}

impl<T: Into<String>> From<T> for Cell {
    fn from(text: T) -> Cell {
        Cell { shown: text.into(), number: None }
    }
}

/// A table that answers a question, with a picture where one helps.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Table {
    /// What it answers.
    pub(crate) title: String,
    /// What the picture says, in a sentence in front; none where the table is the answer.
    pub(crate) lead: Option<String>,
    /// The heads of the columns; the first column names the row.
    pub(crate) heads: Vec<&'static str>,
    /// The rows, a cell for each head.
    pub(crate) rows: Vec<Vec<Cell>>,
    pub(crate) picture: Option<Picture>,
    /// What to know when reading it.
    pub(crate) notes: Vec<String>,
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Picture {
    /// How the verdicts are shared out, a bar for each row.
    Shares(Vec<Shares>),
    /// How readings spread over the scale.
    Histogram(Histogram),
    /// Bars on one scale, with their words beside them.
    Bars(Bars),
    /// Values in the order of time with the limits of their ordinary scatter.
    Charts(Vec<Chart>),
    /// Where each value of a row lies.
    Dots(Dots),
}

impl Table {
    pub(crate) fn new(title: impl Into<String>, heads: &[&'static str]) -> Table {
        Table {
            title: title.into(),
            lead: None,
            heads: heads.to_vec(),
            rows: Vec::new(),
            picture: None,
            notes: Vec::new(),
        }
    }

    pub(crate) fn row(&mut self, cells: impl IntoIterator<Item = impl Into<Cell>>) {
        self.rows.push(cells.into_iter().map(Into::into).collect());
    }

    pub(crate) fn note(&mut self, note: impl Into<String>) {
        self.notes.push(note.into());
    }

    /// Returns the rows with what heads their cells, as programs get them.
    pub(crate) fn values(&self) -> Vec<ReadingRow> {
        let row = |row: &Vec<Cell>| self.heads.iter().copied().zip(row.iter().map(Cell::value)).collect();
        self.rows.iter().map(row).collect()
    }

    /// Returns whether a column holds numbers, which stand to the right; the first one names the rows.
    pub(super) fn is_numeric(&self, column: usize) -> bool {
        let mut cells =
            self.rows.iter().filter_map(|row| row.get(column)).filter(|cell| !cell.shown.is_empty());
        column > 0 && cells.all(|cell| cell.number.is_some())
    }
}

impl Picture {
    pub(super) fn drawn(&self, vacuum_unit: &Unit) -> Markup {
        match self {
            Picture::Shares(shares) => Shares::drawn(shares),
            Picture::Histogram(histogram) => histogram.drawn(vacuum_unit),
            Picture::Bars(bars) => bars.drawn(),
            Picture::Charts(charts) => charts.iter().map(Chart::drawn).collect(),
            Picture::Dots(dots) => dots.drawn(),
        }
    }

    fn show(&self, screen: &mut Screen, vacuum_unit: &Unit) {
        match self {
            Picture::Shares(shares) => Shares::show(screen, shares),
            Picture::Histogram(histogram) => histogram.show(screen, vacuum_unit),
            Picture::Bars(bars) => bars.show(screen),
            Picture::Charts(charts) => charts.iter().for_each(|chart| chart.show(screen)),
            Picture::Dots(dots) => dots.show(screen),
        }
    }
}

/// Shows a table as text, its picture below.
pub(crate) fn show_table(screen: &mut Screen, table: &Table, vacuum_unit: &Unit) {
    screen.say(&table.title);
    match &table.lead {
        Some(lead) => screen.paragraph(2, lead),
        None if table.rows.is_empty() => screen.line("  nothing yet"),
        None => show_rows(screen, table),
    }
    if let Some(picture) = &table.picture {
        screen.line("");
        picture.show(screen, vacuum_unit);
    }
    for note in &table.notes {
        screen.say(note);
    }
}

fn show_rows(screen: &mut Screen, table: &Table) {
    let numeric: Vec<bool> = (0..table.heads.len()).map(|column| table.is_numeric(column)).collect();
    let widths = widths(table, &numeric, screen.width());
    let heads: Vec<&str> = table.heads.clone();
    let rows = table.rows.iter().map(|row| row.iter().map(|cell| cell.shown.as_str()).collect());
    for (n, cells) in std::iter::once(heads).chain(rows).enumerate() {
        let cells: Vec<Vec<String>> =
            cells.iter().zip(&widths).map(|(cell, width)| in_width(cell, *width)).collect();
        let n_lines = cells.iter().map(Vec::len).max().unwrap_or(0);
        for at in 0..n_lines {
            let mut line = String::new();
            for (column, cell) in cells.iter().enumerate() {
                // Heads stand upon their columns, cells hang from their row.
                let from = if n == 0 { n_lines - cell.len() } else { 0 };
                let text = at.checked_sub(from).and_then(|at| cell.get(at)).map_or("", String::as_str);
                let pad = " ".repeat(widths[column].saturating_sub(length(text)));
                line += &if numeric[column] { format!("  {pad}{text}") } else { format!("  {text}{pad}") };
            }
            screen.line(line.trim_end());
        }
    }
}

/// Returns how wide each column is: as its widest cell, and where the screen is too narrow for that, first the heads
/// and then the widest columns of words are broken between words.
fn widths(table: &Table, numeric: &[bool], width: usize) -> Vec<usize> {
    let all = |head: fn(&str) -> usize, cell: fn(&str) -> usize| -> Vec<usize> {
        let widest = |column: usize| {
            let cells = table.rows.iter().filter_map(|row| row.get(column)).map(|own| cell(&own.shown));
            cells.chain([head(table.heads[column])]).max().unwrap_or(0)
        };
        (0..numeric.len()).map(widest).collect()
    };
    let total = |widths: &[usize]| widths.iter().map(|width| width + 2).sum::<usize>();
    let whole = all(length, length);
    if total(&whole) <= width {
        return whole;
    }
    let (mut widths, least) = (all(longest_word, length), all(longest_word, longest_word));
    while total(&widths) > width {
        let breakable =
            (0..widths.len()).filter(|column| !numeric[*column] && widths[*column] > least[*column]);
        let Some(widest) = breakable.max_by_key(|column| widths[*column]) else { break };
        widths[widest] -= 1;
    }
    widths
}

/// Breaks a text between words into lines of a width.
fn in_width(text: &str, width: usize) -> Vec<String> {
    let options = textwrap::Options::new(width.max(1))
        .break_words(false)
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    textwrap::wrap(&clean(text), options).into_iter().map(|line| line.into_owned()).collect()
}

fn longest_word(text: &str) -> usize {
    text.split(' ').map(length).max().unwrap_or(0)
}

pub(super) fn length(text: &str) -> usize {
    clean(text).chars().count()
}
