use std::path::Path;

use super::chosen::path;
use crate::cli::indexed::{amended_by, asked};
use crate::cli::practice::refuse_held_back;
use crate::cli::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::disk::{LARGEST_DOCUMENT, read_text};
use crate::record::{Record, Shop, read};
use crate::report::facts;
use crate::session::{Auditor, screens};

pub(super) fn show(shop: &Shop, named: Option<&Path>, as_json: bool) -> Outcome {
    let path = path(shop, named)?;
    if let Ok(record) = read(&path) {
        refuse_held_back(shop, &record)?;
    }
    let mut screen = Screen::stdout();
    if as_json {
        screen.document(&read_text(&path, LARGEST_DOCUMENT).map_err(|error| Failure::file(&path, error))?);
        return Ok(Status::Done);
    }
    let (record, warnings, status) = audited(shop, &path)?;
    let again = tested_again(shop, &record, &[]);
    let warnings = warnings.into_iter().chain(again).map(|warning| ("Mind".to_owned(), warning));
    let facts: Vec<_> = warnings.chain(facts(&record, None)).collect();
    screens::record(&mut screen, &record, &facts);
    Ok(status)
}

/// Reads a record, with why it is not to be relied on, or not the last word, and the status for that.
pub(in crate::cli) fn audited(shop: &Shop, path: &Path) -> Result<(Record, Vec<String>, Status), Failure> {
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
        let told = "This record is not as it was stored. Do not rely on it; spoolproof records audit says how \
                    that shows.";
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
    Ok((record, warnings, status))
}

/// Says in which sessions a record was tested again, but for those that are told beside it.
pub(in crate::cli) fn tested_again(shop: &Shop, record: &Record, beside: &[String]) -> Vec<String> {
    let again = asked(shop, |index| index.tested_again_in(&record.session)).unwrap_or_default();
    let again = again.into_iter().filter(|session| !beside.contains(session));
    again.map(|session| format!("It was tested again since: {session}.")).collect()
}
