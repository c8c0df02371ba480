use std::path::{Path, PathBuf};

use clap::Args;

use super::chosen_records::path;
use super::indexed::{amended_by, tested_again_in, tested_before};
use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::quantity::UNITS;
use crate::record::{Record, Shop, audit_file, read};
use crate::report::{Story, page, show};

/// Tell a record in words, for the customer and the file.
///
/// A test after a repair is set beside the one before it, where that record is in the shop.
#[derive(Debug, Args)]
pub(super) struct RecordsReport {
    /// The session's name, the job or the record's file, or nothing for the latest
    record: Option<PathBuf>,
    /// Write a page to this file instead, to read in a browser and to print
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
}

impl RecordsReport {
    pub(super) fn run(self, shop: &Shop) -> Outcome {
        let path = match &self.record {
            Some(named) => path(shop, named)?,
            None => latest(shop)?,
        };
        let record = read(&path).map_err(Failure::not_in_order)?;
        let before = tested_before(shop, &record);
        let (warnings, status) = warnings(shop, &path, &record);
        let story = Story { warnings, ..Story::of(&record, before.as_ref(), &UNITS[0]) };
        let mut screen = Screen::stdout();
        match self.html {
            None => show(&mut screen, &story),
            Some(file) => {
                std::fs::write(&file, page(&story))
                    .map_err(|error| Failure::wrong(format!("{}: {error}", file.display())))?;
                for warning in &story.warnings {
                    screen.item("! ", warning);
                }
                screen.line(&format!("Written: {}", file.display()));
            }
        }
        Ok(status)
    }
}

/// Returns the file of the shop's latest record.
pub(super) fn latest(shop: &Shop) -> Result<PathBuf, Failure> {
    let names = shop.record_names().map_err(Failure::wrong)?;
    let latest = names.last().ok_or_else(|| Failure::wrong("there are no records yet"))?;
    path(shop, Path::new(latest))
}

/// Says why a record is not to be relied on, or not the last word.
pub(super) fn warnings(shop: &Shop, path: &Path, record: &Record) -> (Vec<String>, Status) {
    let mut warnings = Vec::new();
    let mut status = Status::Done;
    if audit_file(path).is_ok_and(|audit| !audit.is_in_order()) {
        warnings.push(
            "This record is not as it was stored. Do not rely on it; spoolproof records audit says what was changed."
                .to_owned(),
        );
        status = Status::NotInOrder;
    }
    if let Some(standing) = amended_by(shop, &record.session) {
        warnings.push(format!("This record was amended by {standing}, which counts in its place."));
    }
    for again in tested_again_in(shop, &record.session) {
        warnings.push(format!("It was tested again since: {again}."));
    }
    (warnings, status)
}
