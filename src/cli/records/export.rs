use clap::{Args, ValueEnum};

use super::chosen::{ChosenRecords, of_each};
use crate::cli::indexed::asked;
use crate::cli::practice::refuse_held_back;
use crate::cli::status::{Failure, Outcome};
use crate::console::Screen;
use crate::history::Index;
use crate::quantity::so_many;
use crate::record::{Shop, read};
use crate::report::{ReadingRow, csv, json_lines, rows};

/// Write readings as a table for spreadsheets and notebooks, one row a reading, units in the columns' names.
///
/// CSV has commas between its cells, decimal points, and UTF-8 with a byte-order mark. Of the whole shop, records that
/// were amended are left out: what amends them stands for them.
#[derive(Debug, Args)]
pub(super) struct RecordsExport {
    #[command(flatten)]
    chosen: ChosenRecords,
    /// How the table is written
    #[arg(long, value_enum, default_value_t = Format::Csv)]
    format: Format,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Format {
    /// Comma-separated values (RFC 4180)
    Csv,
    /// JSON Lines, one object a line
    Jsonl,
}

impl RecordsExport {
    pub(super) fn run(self, shop: &Shop) -> Outcome {
        let paths = self.chosen.paths(shop)?;
        let amendments = asked(shop, Index::amendments);
        let amended_by = |session: &str| amendments.as_ref()?.get(session)?.last().cloned();
        let (records, mut status) = of_each("records read", &paths, |(), path| {
            let record = read(path).map_err(Failure::not_in_order)?;
            refuse_held_back(shop, &record)?;
            let amended_by = amended_by(&record.session);
            let rows = rows(&record, amended_by.as_deref());
            let altered = (!record.is_as_stored()).then(|| path.display().to_string());
            Ok((amended_by.is_some(), altered, rows))
        });
        let mut all: Vec<ReadingRow> = Vec::new();
        let mut n_amended = 0;
        for (is_amended, altered, rows) in records {
            // Of a whole shop each test counts once: its amendment stands for it.
            if is_amended && self.chosen.is_all() {
                n_amended += 1;
                continue;
            }
            if let Some(path) = altered {
                let told = format!(
                    "{path} is not as it was stored; its rows say so in as_stored, and records audit says how that shows"
                );
                status = status.max(Failure::not_in_order(told).report());
            }
            all.extend(rows);
        }
        if n_amended > 0 {
            let told = format!(
                "Left out, being amended: {}. What amends them is in the table; name one to have it.",
                so_many(n_amended, "record")
            );
            Screen::stderr().say(&told);
        }
        let text = match self.format {
            Format::Csv => csv(&all).map_err(Failure::wrong)?,
            Format::Jsonl => json_lines(&all),
        };
        Screen::stdout().document(&text);
        Ok(status)
    }
}
