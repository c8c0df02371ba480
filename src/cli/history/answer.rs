use std::path::Path;

use serde_json::{Value, json};

use crate::cli::indexed::indexed;
use crate::cli::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::history::Index;
use crate::quantity::UNITS;
use crate::record::Shop;
use crate::report::{Table, show_table, table_page};

/// Records that are left out and told by name: what is wrong with many must not bury the answer.
const MOST_TOLD: usize = 5;

/// Opens the index and brings it up to the records that are there; none where that was broken off.
pub(super) fn updated(shop: &Shop, is_rebuilt: bool) -> Result<Option<Index>, Failure> {
    let (index, update) = indexed(shop, is_rebuilt)?;
    let skipped = index.skipped()?;
    for (name, why) in skipped.iter().take(MOST_TOLD) {
        Failure::not_in_order(format!("{name} is left out: {why}")).report();
    }
    if let Some(more) = skipped.len().checked_sub(MOST_TOLD).filter(|more| *more > 0) {
        Failure::not_in_order(format!("{more} more are left out; records audit says of each what is wrong"))
            .report();
    }
    if update.is_partial {
        Failure::paused(format!(
            "Stopped after {} records. They are in the index; the next question goes on from there.",
            update.added
        ))
        .report();
        return Ok(None);
    }
    Ok(Some(index))
}

/// An answer, as tables, with what it answers.
pub(super) struct AnswerSheet {
    pub(super) title: String,
    pub(super) tables: Vec<Table>,
}

impl AnswerSheet {
    /// Gives the answer as text, as JSON or as a page.
    pub(super) fn give(&self, as_json: bool, html: Option<&Path>) -> Outcome {
        let mut screen = Screen::stdout();
        if let Some(file) = html {
            std::fs::write(file, table_page(&self.title, &self.tables, &UNITS[0]))
                .map_err(|error| Failure::file(file, error))?;
            screen.line(&format!("Written: {}", file.display()));
        } else if as_json {
            let tables: Vec<Value> = self.tables.iter().map(value).collect();
            screen.json(&json!({ "title": self.title, "tables": tables }));
        } else {
            for (index, table) in self.tables.iter().enumerate() {
                if index > 0 {
                    screen.line("");
                }
                show_table(&mut screen, table, &UNITS[0]);
            }
            if self.tables.is_empty() {
                screen.line("The shop has no records of that yet.");
            }
        }
        Ok(Status::Done)
    }
}

/// Writes a table as rows of objects; what reads as a number is one.
fn value(table: &Table) -> Value {
    let cell = |text: &String| match (text.parse::<i64>(), text.parse::<f64>()) {
        (Ok(whole), _) => json!(whole),
        (_, Ok(number)) => json!(number),
        _ => json!(text),
    };
    let rows: Vec<Value> = table
        .rows
        .iter()
        .map(|row| table.heads.iter().zip(row).map(|(head, text)| ((*head).to_owned(), cell(text))).collect())
        .collect();
    json!({ "title": table.title, "rows": rows, "notes": table.notes })
}
