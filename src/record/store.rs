//! Records on the disk: what is stored keeps to the schema, carries its digest, and is never overwritten.

use std::io;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use jsonschema::Validator;
use serde_json::{Value, json};
use thiserror::Error;

use super::layout::laid_out;
use super::{Event, Record, Shop, digest};

/// The schema that every record validates against.
pub(crate) const RECORD_SCHEMA: &str = include_str!("../../schemas/record.schema.json");
use crate::disk::{self, LARGEST_DOCUMENT, read_text, write_new};

static RECORD: LazyLock<Schema> = LazyLock::new(|| Schema::new(RECORD_SCHEMA));

/// What the schema says of a journal.
static JOURNAL: LazyLock<Schema> = LazyLock::new(|| {
    let of_record: Value = serde_json::from_str(RECORD_SCHEMA).unwrap_or_default();
    let (definitions, journal) = (&of_record["$defs"], &of_record["properties"]["journal"]);
    Schema::new(&json!({ "$defs": definitions, "allOf": [journal] }).to_string())
});

/// A schema (JSON Schema 2020-12) that is built in, or why its text is none.
pub(crate) struct Schema(Result<Validator, String>);

impl Schema {
    pub(crate) fn new(text: &str) -> Schema {
        let build = || {
            let schema: Value = serde_json::from_str(text).map_err(|error| error.to_string())?;
            jsonschema::draft202012::options()
                .should_validate_formats(true)
                .build(&schema)
                .map_err(|error| error.to_string())
        };
        Schema(build())
    }

    /// Returns whether a document keeps to it; the short way to that answer.
    fn is_kept_by(&self, document: &Value) -> bool {
        self.0.as_ref().is_ok_and(|validator| validator.is_valid(document))
    }

    /// Checks a document against it; fails with every breach, each with its place in the document.
    pub(crate) fn check(&self, document: &Value) -> Result<(), Vec<String>> {
        let validator = self.0.as_ref().map_err(|error| vec![error.clone()])?;
        let breaches: Vec<_> = validator
            .iter_errors(document)
            .map(|error| {
                let place = error.instance_path().to_string();
                format!("{}: {error}", if place.is_empty() { "/" } else { &place })
            })
            .collect();
        if breaches.is_empty() { Ok(()) } else { Err(breaches) }
    }
}

/// Returns whether events keep to what the record schema says of a journal.
pub(crate) fn are_valid(events: &[&Event]) -> bool {
    serde_json::to_value(events).is_ok_and(|document| JOURNAL.is_kept_by(&document))
}

/// Checks a document against the record schema; fails with every breach, each with its place in the document.
pub(crate) fn validate(document: &Value) -> Result<(), Vec<String>> {
    RECORD.check(document)
}

/// Why a record could not be stored or read.
#[derive(Debug, Error)]
pub enum StoreError {
    #[error("{path}: {1}", path = .0.display())]
    Io(PathBuf, io::Error),
    #[error("{} exists and is a different record; a record is never overwritten", .0.display())]
    Exists(PathBuf),
    #[error("the record breaks its schema: {}", .0.join("; "))]
    Invalid(Vec<String>),
    #[error("{path} is not a record: {1}", path = .0.display())]
    Unreadable(PathBuf, String),
}

/// Returns a record with its digest in place, as a record and as the value that was checked against the schema.
pub(crate) fn sealed(record: &Record) -> Result<(Record, Value), StoreError> {
    let no_json = |error: serde_json::Error| StoreError::Invalid(vec![error.to_string()]);
    let mut document = serde_json::to_value(record).map_err(no_json)?;
    let digest = digest(record).map_err(no_json)?;
    document["digest"] = Value::from(digest.as_str());
    validate(&document).map_err(StoreError::Invalid)?;
    Ok((Record { digest: Some(digest), ..record.clone() }, document))
}

/// Returns a record as the document that is stored, its digest in place, and checks it against the schema.
///
/// # Errors
/// Where it breaks the schema.
pub fn document(record: &Record) -> Result<String, StoreError> {
    let (record, _) = sealed(record)?;
    let text = laid_out(&record).map_err(|error| error.to_string());
    let text = text.and_then(|text| String::from_utf8(text).map_err(|error| error.to_string()));
    text.map_err(|error| StoreError::Invalid(vec![error]))
}

/// Puts a document into the shop's records under its session's name: whole and on the disk, or not at all. It is
/// written in the session's folder first, which goes when the session is finished, so that nothing half written stays.
///
/// The same document again is no error, so that a session which was killed after storing can be finished.
pub(crate) fn store(shop: &Shop, session: &str, document: &str) -> Result<PathBuf, StoreError> {
    let path = shop.record(session);
    let failed = |error: io::Error| StoreError::Io(path.clone(), error);
    match write_new(&path, document.as_bytes(), Some(&shop.session(session))) {
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
            if disk::read(&path, LARGEST_DOCUMENT).map_err(failed)? != document.as_bytes() {
                return Err(StoreError::Exists(path));
            }
        }
        written => written.map_err(failed)?,
    }
    Ok(path)
}

/// Reads a record.
///
/// # Errors
/// Where the file cannot be read or is no record.
pub(crate) fn read(path: &Path) -> Result<Record, StoreError> {
    let text = read_text(path, LARGEST_DOCUMENT).map_err(|error| StoreError::Io(path.to_owned(), error))?;
    serde_json::from_str(&text).map_err(|error| StoreError::Unreadable(path.to_owned(), error.to_string()))
}
