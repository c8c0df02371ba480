use clap::{Args, ValueEnum};

use super::chosen_records::ChosenRecords;
use super::indexed::indexed;
use super::status::{Failure, Outcome, Status};
use crate::console::{Progress, Screen};
use crate::record::{Shop, across, read};
use crate::report::{Row, csv, json_lines, rows};

/// Write readings as a table for spreadsheets and notebooks, one row a reading, units in the columns' names.
///
/// The text is UTF-8. Of a test that was amended both records are written: leave out the rows in which amended_by is filled.
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
        // Both records of an amended test are in the table; the column tells which one counts.
        let amendments = indexed(shop, false).ok().and_then(|(index, _)| index.amendments().ok());
        let amended_by = |session: &str| amendments.as_ref()?.get(session)?.last().cloned();
        let progress = Progress::new("records read", paths.len());
        let records = across(&paths, |path| {
            let record = read(path).map(|record| rows(&record, amended_by(&record.session).as_deref()));
            progress.step();
            record
        });
        drop(progress);
        let mut status = Status::Done;
        let mut all: Vec<Row> = Vec::new();
        for record in records {
            match record {
                Ok(rows) => all.extend(rows),
                // One record that cannot be read must not hide the others.
                Err(error) => status = status.max(Failure::not_in_order(error).report()),
            }
        }
        let text = match self.format {
            Format::Csv => csv(&all).map_err(Failure::wrong)?,
            Format::Jsonl => json_lines(&all).map_err(Failure::wrong)?,
        };
        Screen::stdout().document(&text);
        Ok(status)
    }
}
