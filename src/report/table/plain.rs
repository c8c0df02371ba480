use super::shares::MARKS;
use super::{Picture, Table};
use crate::console::{Screen, clean};
use crate::quantity::Unit;

/// Shows a table as text, its picture below.
pub fn show_table(screen: &mut Screen, table: &Table, vacuum_unit: &Unit) {
    screen.paragraph(0, &table.title);
    if table.rows.is_empty() {
        screen.line("  nothing yet");
    } else {
        show_rows(screen, table);
    }
    if let Some(picture) = &table.picture {
        screen.line("");
        show_picture(screen, picture, vacuum_unit);
    }
    for note in &table.notes {
        screen.paragraph(0, note);
    }
}

fn show_rows(screen: &mut Screen, table: &Table) {
    let numeric: Vec<bool> = (0..table.heads.len()).map(|column| table.is_numeric(column)).collect();
    let widths = widths(table, &numeric, screen.width());
    let heads: Vec<&str> = table.heads.clone();
    let rows = table.rows.iter().map(|row| row.iter().map(String::as_str).collect());
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

/// Returns how wide each column is: as its widest cell, and where the screen is too narrow for that, first the heads and
/// then the widest columns of words are broken between words.
fn widths(table: &Table, numeric: &[bool], width: usize) -> Vec<usize> {
    let all = |head: fn(&str) -> usize, cell: fn(&str) -> usize| -> Vec<usize> {
        let widest = |column: usize| {
            let cells = table.rows.iter().filter_map(|row| row.get(column)).map(|text| cell(text));
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

fn length(text: &str) -> usize {
    clean(text).chars().count()
}

fn show_picture(screen: &mut Screen, picture: &Picture, vacuum_unit: &Unit) {
    match picture {
        Picture::Shares(shares) => {
            let label = shares.iter().map(|share| share.label.chars().count()).max().unwrap_or(0).min(30);
            let length = screen.width().saturating_sub(label + 6).clamp(10, 60);
            for share in shares {
                let name: String = clean(&share.label).chars().take(label).collect();
                screen.line(&format!("  {name:<label$}  {}", share.bar(length)));
            }
            let legend: Vec<_> = MARKS.iter().map(|(mark, word)| format!("{mark} {word}")).collect();
            screen.line(&format!("  {}", legend.join(", ")));
        }
        Picture::Histogram(histogram) => {
            for line in histogram.lines(screen.width().saturating_sub(30).max(10), vacuum_unit) {
                screen.line(&line);
            }
        }
        Picture::Charts(charts) => {
            for chart in charts {
                screen.line(&format!("  {} ({})", chart.title, chart.unit));
                if let Some(flat) = chart.flat() {
                    screen.paragraph(2, &flat);
                    continue;
                }
                for line in chart.lines(screen.width()) {
                    screen.line(&line);
                }
                for told in chart.told() {
                    screen.item("  ! ", &told);
                }
            }
        }
    }
}
