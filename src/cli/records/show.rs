use std::path::{Path, PathBuf};

use clap::Args;

use super::chosen::path;
use crate::cli::indexed::{amended_by, asked, tested_before};
use crate::cli::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::disk::{LARGEST_DOCUMENT, read_text, write_whole};
use crate::quantity::UNITS;
use crate::record::{Record, Shop, read};
use crate::report::{Story, facts, page, show as show_story};
use crate::session::{Auditor, screens};

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
        let (record, warnings, status) = audited(shop, &path(shop, self.record.as_deref())?)?;
        let before = tested_before(shop, &record);
        let story = Story { warnings, ..Story::of(&record, before.as_ref(), &UNITS[0]) };
        let mut screen = Screen::stdout();
        match self.html {
            None => show_story(&mut screen, &story),
            Some(file) => {
                write_whole(&file, page(&story).as_bytes()).map_err(|error| Failure::file(&file, error))?;
                for warning in &story.warnings {
                    screen.item("! ", warning);
                }
                screen.line(&format!("Written: {}", file.display()));
            }
        }
        Ok(status)
    }
}

pub(super) fn show(shop: &Shop, named: Option<&Path>, as_json: bool) -> Outcome {
    let path = path(shop, named)?;
    let mut screen = Screen::stdout();
    if as_json {
        screen.document(&read_text(&path, LARGEST_DOCUMENT).map_err(|error| Failure::file(&path, error))?);
        return Ok(Status::Done);
    }
    let (record, warnings, status) = audited(shop, &path)?;
    let warnings = warnings.into_iter().map(|warning| ("Mind".to_owned(), warning));
    let facts: Vec<_> = warnings.chain(facts(&record, None)).collect();
    screens::record(&mut screen, &record, &facts);
    Ok(status)
}

/// Reads a record, with why it is not to be relied on, or not the last word, and the status for that.
fn audited(shop: &Shop, path: &Path) -> Result<(Record, Vec<String>, Status), Failure> {
    let audit = Auditor::default().audit_file(path).map_err(Failure::not_in_order)?;
    let mut warnings = Vec::new();
    let mut status = Status::Done;
    if audit.is_of_other_version() {
        warnings.push(format!(
            "Version {} of the program made this record; this is {}, which comes to something else. Whether it was changed, \
             only an audit with that version shows.",
            audit.other_version.as_deref().unwrap_or_default(),
            env!("CARGO_PKG_VERSION")
        ));
    } else if !audit.is_in_order() {
        let told = "This record is not as it was stored. Do not rely on it; spoolproof records audit says what was \
                    changed.";
        warnings.push(told.to_owned());
        status = Status::NotInOrder;
    }
    let record = match audit.record {
        Some(record) => record,
        None => read(path).map_err(Failure::not_in_order)?,
    };
    if let Some(standing) = amended_by(shop, &record.session) {
        warnings.push(format!("This record was amended by {standing}, which counts in its place."));
    }
    let again = asked(shop, |index| index.tested_again_in(&record.session));
    for again in again.unwrap_or_default() {
        warnings.push(format!("It was tested again since: {again}."));
    }
    Ok((record, warnings, status))
}
