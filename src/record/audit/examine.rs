use std::fs;
use std::path::Path;

use serde::Deserialize;
use serde_json::Value;

use super::difference::differences;
use super::intact::intact;
use super::journal::{entries, uncovered};
use super::{Fault, Place};
use crate::record::{Event, FileDigest, Record, StoreError, digest, document, fold, validate};

/// What an audit of a record has found.
#[derive(Debug, Clone, PartialEq)]
pub struct Audit {
    /// The session, where that can be read.
    pub session: Option<String>,
    /// The procedure's files as the record states them, where that can be read.
    pub files: Vec<FileDigest>,
    /// Whether the journal is the one that was stored, whatever became of the rest: the record that it folds to has
    /// the digest that is stated.
    pub journal_stands: bool,
    /// Everything that is not as it was stored, or does not follow from what was entered.
    pub faults: Vec<Fault>,
}

impl Audit {
    /// Returns whether nothing is wrong.
    pub fn is_in_order(&self) -> bool {
        self.faults.is_empty()
    }
}

/// Audits a record's file: its content, and that it is named after its session.
///
/// # Errors
/// Where the file cannot be read.
pub fn audit_file(path: &Path) -> Result<Audit, StoreError> {
    let bytes = fs::read(path).map_err(|error| StoreError::Io(path.to_owned(), error))?;
    let mut audit = audit(&bytes);
    let file = path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    if let Some(session) = audit.session.clone().filter(|session| *session != file) {
        audit.faults.push(Fault::Name { file, session });
    }
    Ok(audit)
}

/// Audits a record: JSON, schema, digest, every value from what was typed, every field from the journal, and every
/// byte.
pub fn audit(bytes: &[u8]) -> Audit {
    match intact(bytes) {
        Some(record) => Audit {
            session: Some(record.session),
            files: record.procedure.files,
            journal_stands: true,
            faults: Vec::new(),
        },
        None => explained(bytes),
    }
}

/// Finds everything that is wrong with a record, field by field.
fn explained(bytes: &[u8]) -> Audit {
    let mut audit = Audit { session: None, files: Vec::new(), journal_stands: false, faults: Vec::new() };
    let stated: Value = match serde_json::from_slice(bytes) {
        Ok(value) => value,
        Err(error) => {
            let at = Place::at(bytes, error.line(), error.column());
            audit.faults.push(Fault::NotJson { at, why: error.to_string() });
            return audit;
        }
    };
    audit.session = stated["session"].as_str().map(str::to_owned);
    audit.files = Vec::deserialize(&stated["procedure"]["files"]).unwrap_or_default();
    if let Err(breaches) = validate(&stated) {
        audit.faults.extend(breaches.into_iter().map(Fault::Schema));
    }
    match digest(&stated) {
        Ok(content) if stated["digest"] == content.as_str() => {}
        Ok(content) => audit.faults.push(Fault::Digest { found: content }),
        Err(error) => audit.faults.push(Fault::Journal(error.to_string())),
    }
    match Vec::<Event>::deserialize(&stated["journal"]) {
        Ok(journal) => audit.judge(bytes, &stated, &journal),
        Err(error) => audit.faults.push(Fault::Journal(error.to_string())),
    }
    audit
}

impl Audit {
    fn judge(&mut self, bytes: &[u8], stated: &Value, journal: &[Event]) {
        entries(journal, &mut self.faults);
        let again = match fold(journal) {
            Ok(record) => record,
            Err(error) => return self.faults.push(Fault::Fold(error)),
        };
        match restored(&again) {
            Ok((text, value)) => {
                uncovered(&again, &mut self.faults);
                self.journal_stands = value["digest"] == stated["digest"];
                differences(stated, &value, &mut self.faults);
                if self.faults.is_empty()
                    && let Some(at) = first_difference(bytes, text.as_bytes())
                {
                    self.faults.push(Fault::Form(Place::of(bytes, at)));
                }
            }
            Err(error) => self.faults.push(Fault::Journal(error.to_string())),
        }
    }
}

/// Returns a record as the text that is stored, and as a value.
fn restored(record: &Record) -> Result<(String, Value), StoreError> {
    let text = document(record)?;
    let value = serde_json::from_str(&text).map_err(|error| StoreError::Invalid(vec![error.to_string()]))?;
    Ok((text, value))
}

fn first_difference(one: &[u8], other: &[u8]) -> Option<usize> {
    match one.iter().zip(other).position(|(one, other)| one != other) {
        Some(at) => Some(at),
        None if one.len() == other.len() => None,
        None => Some(one.len().min(other.len())),
    }
}
