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
    let length = |text: &str| clean(text).chars().count();
    let widths: Vec<usize> = (0..table.heads.len())
        .map(|column| {
            let cells = table.rows.iter().filter_map(|row| row.get(column)).map(|cell| length(cell));
            cells.chain([length(table.heads[column])]).max().unwrap_or(0)
        })
        .collect();
    let numeric: Vec<bool> = (0..table.heads.len()).map(|column| table.is_numeric(column)).collect();
    let mut show = |cells: &mut dyn Iterator<Item = &str>| {
        let mut line = String::new();
        for (column, cell) in cells.enumerate() {
            let pad = " ".repeat(widths[column].saturating_sub(length(cell)));
            let aligned = if numeric[column] { format!("{pad}{cell}") } else { format!("{cell}{pad}") };
            line += &format!("  {aligned}");
        }
        screen.line(line.trim_end());
    };
    show(&mut table.heads.iter().copied());
    for row in &table.rows {
        show(&mut row.iter().map(String::as_str));
    }
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
