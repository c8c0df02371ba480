use std::path::{Path, PathBuf};

use clap::Args;

use super::chosen_records::path;
use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::quantity::UNITS;
use crate::record::{EarlierRecord, Record, Shop, read};
use crate::report::{page, show, tell};

/// Tell a record in words, for the customer and the file.
///
/// A test after a repair is set beside the one before it, where that record is in the shop.
#[derive(Debug, Args)]
pub(super) struct RecordsReport {
    /// The session's name or the record's file, or nothing for the latest
    record: Option<PathBuf>,
    /// Write a page to this file instead, to read in a browser and to print
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
}

impl RecordsReport {
    pub(super) fn run(self, shop: &Shop) -> Outcome {
        let path = self.path(shop)?;
        let record = read(&path).map_err(Failure::not_in_order)?;
        let before = earlier(&record).and_then(|earlier| in_shop(shop, earlier));
        let story = tell(&record, before.as_ref(), &UNITS[0]);
        let mut screen = Screen::stdout();
        match self.html {
            None => show(&mut screen, &story),
            Some(file) => {
                std::fs::write(&file, page(&story))
                    .map_err(|error| Failure::wrong(format!("{}: {error}", file.display())))?;
                screen.line(&format!("Written: {}", file.display()));
            }
        }
        Ok(Status::Done)
    }

    fn path(&self, shop: &Shop) -> Result<PathBuf, Failure> {
        match &self.record {
            Some(named) => path(shop, named),
            None => {
                let names = shop.record_names().map_err(Failure::wrong)?;
                let latest = names.last().ok_or_else(|| Failure::wrong("there are no records yet"))?;
                path(shop, Path::new(latest))
            }
        }
    }
}

fn earlier(record: &Record) -> Option<&EarlierRecord> {
    record.plan.as_ref().and_then(|plan| plan.after.as_ref())
}

/// Reads an earlier record, where the shop has it and it is the one that was meant.
fn in_shop(shop: &Shop, earlier: &EarlierRecord) -> Option<Record> {
    let record = read(&shop.records().join(format!("{}.json", earlier.session))).ok()?;
    (record.digest.as_ref() == Some(&earlier.digest)).then_some(record)
}
