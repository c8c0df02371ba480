//! The audit: whether a record is still the one that was stored, and if not, where it differs.

use std::collections::HashSet;
use std::io::{self, Write};
use std::path::Path;

use serde::{Deserialize, Serialize};
use serde_json::Value;
use thiserror::Error;

use super::{
    Answer, Event, FileDigest, FoldError, ReadingRecord, Record, Step, StoreError, What, digest, fold,
    is_valid, sha256, store::sealed, validate,
};

/// What an audit of a record has found.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Audit {
    /// The session, where that can be read.
    pub session: Option<String>,
    /// The procedure's files as the record states them, where that can be read.
    pub files: Vec<FileDigest>,
    /// The record, where nothing at all is wrong with it.
    pub record: Option<Record>,
    /// Whether the journal is the one that was stored, whatever became of the rest: the record that it folds to has
    /// the digest that is stated.
    pub journal_stands: bool,
    /// Everything that is not as it was stored, or does not follow from what was entered.
    pub faults: Vec<RecordFault>,
}

/// One thing about a record that is not as it was stored, or does not follow from what was entered.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RecordFault {
    #[error("not JSON: {0}")]
    NotJson(String),
    /// It breaks the schema; the text begins with the field.
    #[error("breaks the schema at {0}")]
    Schema(String),
    /// The digest that it states is not that of its content.
    #[error("the digest does not fit: the content has {found}")]
    Digest { found: String },
    #[error("the journal cannot be read: {0}")]
    Journal(String),
    #[error("the journal makes no record: {0}")]
    Fold(#[from] FoldError),
    #[error("event {place} of the journal is numbered {n}")]
    Order {
        /// The place, from 1.
        place: usize,
        n: u64,
    },
    #[error("the walk rests on the answer of event {n}, which was taken back")]
    Retracted { n: u64 },
    #[error("event {n}: \"{entered}\" was entered, which gives {found}")]
    Entered {
        n: u64,
        entered: String,
        /// What it gives, or why it gives nothing.
        found: String,
    },
    /// A field is not what follows from the journal.
    #[error("{field} is stated as {stated}; the journal gives {found}")]
    Differs {
        /// The field, as a JSON pointer (RFC 6901).
        field: String,
        stated: String,
        found: String,
    },
    #[error("no good check of the rig follows the readings of \"{circuit}\"")]
    Uncovered { circuit: String },
    /// It says the same, but not in the bytes that were stored.
    #[error("not written as it was stored: spacing or spelling was changed")]
    Form,
    #[error("the shop's copy of {name} is not the file that ran: it has been altered")]
    File { name: String },
    #[error("the file is named {file}, the session in it {session}")]
    Name {
        /// The name of the file, without its extension.
        file: String,
        session: String,
    },
}
use crate::disk::{self, LARGEST_DOCUMENT};

impl RecordFault {
    /// Returns a word for the kind, for programs.
    pub fn kind(&self) -> &'static str {
        match self {
            RecordFault::NotJson(_) => "not_json",
            RecordFault::Schema(_) => "schema",
            RecordFault::Digest { .. } => "digest",
            RecordFault::Journal(_) => "journal",
            RecordFault::Fold(_) => "fold",
            RecordFault::Order { .. } => "order",
            RecordFault::Retracted { .. } => "retracted",
            RecordFault::Entered { .. } => "entered",
            RecordFault::Differs { .. } => "differs",
            RecordFault::Uncovered { .. } => "uncovered",
            RecordFault::Form => "form",
            RecordFault::File { .. } => "file",
            RecordFault::Name { .. } => "name",
        }
    }

    /// Returns the field that the fault is about, as a JSON pointer, where that is known.
    pub fn field(&self) -> Option<&str> {
        match self {
            RecordFault::Differs { field, .. } => Some(field),
            RecordFault::Digest { .. } => Some("/digest"),
            RecordFault::Schema(why) => why.split_once(": ").map(|(place, _)| place),
            _ => None,
        }
    }
}

/// What the shop has of a procedure's file that ran.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum KeptFile {
    /// The file itself.
    Same,
    /// A file that is kept for it, but is another one.
    Altered,
    /// Nothing.
    Missing,
}

/// Audits a record's file: its content, and that it is named after its session.
///
/// # Errors
/// Where the file cannot be read.
pub fn audit_file(path: &Path) -> Result<Audit, StoreError> {
    let bytes = disk::read(path, LARGEST_DOCUMENT).map_err(|error| StoreError::Io(path.to_owned(), error))?;
    let mut audit = audit(&bytes);
    let file = path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    if let Some(session) = audit.session.clone().filter(|session| *session != file) {
        audit.faults.push(RecordFault::Name { file, session });
    }
    Ok(audit)
}

/// Audits a record: JSON, schema, digest, every value from what was typed, every field from the journal, and every
/// byte.
pub(crate) fn audit(bytes: &[u8]) -> Audit {
    match intact(bytes) {
        Some(record) => Audit {
            session: Some(record.session.clone()),
            files: record.procedure.files.clone(),
            record: Some(record),
            journal_stands: true,
            faults: Vec::new(),
        },
        None => explained(bytes),
    }
}

impl Audit {
    /// Returns whether nothing is wrong.
    pub fn is_in_order(&self) -> bool {
        self.faults.is_empty()
    }

    /// Looks for the procedure's files among those that the shop keeps by their digests, in the record's order, and
    /// adds a fault for each that is not what its name says.
    pub fn look_for_files(&mut self, folder: &Path) -> Vec<KeptFile> {
        let mut found = Vec::new();
        for file in &self.files {
            let kept = match disk::read(&folder.join(format!("{}.rhai", file.sha256)), LARGEST_DOCUMENT) {
                Err(_) => KeptFile::Missing,
                Ok(bytes) if sha256(&bytes) == file.sha256 => KeptFile::Same,
                Ok(_) => KeptFile::Altered,
            };
            if kept == KeptFile::Altered {
                self.faults.push(RecordFault::File { name: file.name.clone() });
            }
            found.push(kept);
        }
        found
    }
}

/// What a record is made of, and its seal; all else in it follows.
#[derive(Deserialize)]
struct Stated {
    journal: Vec<Event>,
    digest: Option<String>,
}

/// Returns the record where nothing at all is wrong with it: where what follows from its journal is, byte by byte, what
/// is stored. Which field is wrong where something is, this does not ask; most records are as they were stored, and for
/// those it is the short way.
fn intact(bytes: &[u8]) -> Option<Record> {
    let stated: Stated = serde_json::from_slice(bytes).ok()?;
    let mut faults = Vec::new();
    entries(&stated.journal, &mut faults);
    let record = Record { digest: stated.digest, ..fold(&stated.journal).ok()? };
    uncovered(&record, &mut faults);
    if !faults.is_empty() || !is_written_as(&record, bytes) {
        return None;
    }
    let document = serde_json::to_value(&record).ok()?;
    let is_sealed = record.digest == Some(digest(&document).ok()?);
    (is_sealed && is_valid(&document)).then_some(record)
}

/// Whether these are the bytes that the record is stored as.
fn is_written_as(record: &Record, bytes: &[u8]) -> bool {
    let mut rest = Rest(bytes);
    serde_json::to_writer_pretty(&mut rest, record).is_ok() && rest.0 == b"\n"
}

/// What is left of the bytes that a text is compared with while it is written.
struct Rest<'a>(&'a [u8]);

impl Write for Rest<'_> {
    fn write(&mut self, written: &[u8]) -> io::Result<usize> {
        self.0 = self.0.strip_prefix(written).ok_or(io::ErrorKind::InvalidData)?;
        Ok(written.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Finds everything that is wrong with a record, field by field.
fn explained(bytes: &[u8]) -> Audit {
    let mut audit = Audit::default();
    let stated: Value = match serde_json::from_slice(bytes) {
        Ok(value) => value,
        Err(error) => {
            audit.faults.push(RecordFault::NotJson(error.to_string()));
            return audit;
        }
    };
    audit.session = stated["session"].as_str().map(str::to_owned);
    audit.files = Vec::deserialize(&stated["procedure"]["files"]).unwrap_or_default();
    if let Err(breaches) = validate(&stated) {
        audit.faults.extend(breaches.into_iter().map(RecordFault::Schema));
    }
    let unreadable = |error: &dyn ToString| RecordFault::Journal(error.to_string());
    match digest(&stated) {
        Ok(content) if stated["digest"] == content.as_str() => {}
        Ok(content) => audit.faults.push(RecordFault::Digest { found: content }),
        Err(error) => audit.faults.push(unreadable(&error)),
    }
    let journal = match Vec::<Event>::deserialize(&stated["journal"]) {
        Ok(journal) => journal,
        Err(error) => {
            audit.faults.push(unreadable(&error));
            return audit;
        }
    };
    entries(&journal, &mut audit.faults);
    let again = match fold(&journal) {
        Ok(record) => record,
        Err(error) => {
            audit.faults.push(RecordFault::Fold(error));
            return audit;
        }
    };
    match sealed(&again) {
        Ok((again, document)) => {
            uncovered(&again, &mut audit.faults);
            audit.journal_stands = document["digest"] == stated["digest"];
            differences("", &stated, &document, &mut audit.faults);
            if audit.faults.is_empty() && !is_written_as(&again, bytes) {
                audit.faults.push(RecordFault::Form);
            }
        }
        Err(error) => audit.faults.push(unreadable(&error)),
    }
    audit
}

/// Checks the journal itself: the numbers of its events, that nothing rests on an answer that was taken back, and that
/// what was typed gives the values that are stated.
fn entries(journal: &[Event], faults: &mut Vec<RecordFault>) {
    let mut retracted = HashSet::new();
    for (index, event) in journal.iter().enumerate() {
        if event.n != index as u64 + 1 {
            faults.push(RecordFault::Order { place: index + 1, n: event.n });
        }
        match &event.what {
            What::Retracted { answers } => retracted.extend(answers.iter().copied()),
            What::Answered { question, answer } => {
                let entered = match answer {
                    Answer::Quantity { entry, .. } => entry.entered.clone(),
                    Answer::AtStop { entry } => format!("{} stop", entry.entered),
                    Answer::Barometer { entered, .. } => entered.clone(),
                    _ => continue,
                };
                let found = match question.read(&entered) {
                    Ok(again) if is_same_value(&again, answer) => continue,
                    Ok(again) => describe(&again),
                    Err(refusal) => refusal.to_string(),
                };
                faults.push(RecordFault::Entered { n: event.n, entered, found });
            }
            What::Finished { walk } => {
                let resting = walk.iter().filter_map(|step| match step {
                    Step::Asked { n } if retracted.contains(n) => Some(*n),
                    _ => None,
                });
                faults.extend(resting.map(|n| RecordFault::Retracted { n }));
            }
            _ => {}
        }
    }
}

/// Whether both answers have one value; what a gauge sent beside it cannot be typed again.
fn is_same_value(one: &Answer, other: &Answer) -> bool {
    match (one, other) {
        (Answer::Quantity { entry: one, .. }, Answer::Quantity { entry: other, .. }) => one == other,
        _ => one == other,
    }
}

/// Writes the value of an answer in SI.
fn describe(answer: &Answer) -> String {
    match answer {
        Answer::Quantity { entry, .. } | Answer::AtStop { entry } => {
            format!("{} in SI units ({})", entry.si, entry.dimension)
        }
        Answer::Barometer { barometer, .. } => format!("{} Pa", barometer.station().si()),
        _ => "no value".to_owned(),
    }
}

/// Looks for circuits whose readings no good check of the rig follows.
fn uncovered(record: &Record, faults: &mut Vec<RecordFault>) {
    let is_covered = |reading: &ReadingRecord| {
        let check = reading.check.and_then(|check| record.checks.get(check.checked_sub(1)?));
        check.is_some_and(|check| check.is_good)
    };
    let uncovered = record.circuits.iter().filter(|circuit| !circuit.readings.iter().all(is_covered));
    faults.extend(uncovered.map(|circuit| RecordFault::Uncovered { circuit: circuit.circuit.name.clone() }));
}

/// Adds every field of a record, but for its digest, that is not what was worked out again.
fn differences(place: &str, stated: &Value, found: &Value, faults: &mut Vec<RecordFault>) {
    match (stated, found) {
        (Value::Object(stated), Value::Object(found)) => {
            let more = stated.keys().filter(|key| !found.contains_key(*key));
            for key in found.keys().chain(more) {
                let field = format!("{place}/{}", key.replace('~', "~0").replace('/', "~1"));
                if field != "/digest" {
                    let stated = stated.get(key).unwrap_or(&Value::Null);
                    differences(&field, stated, found.get(key).unwrap_or(&Value::Null), faults);
                }
            }
        }
        (Value::Array(stated), Value::Array(found)) if stated.len() == found.len() => {
            for (index, (stated, found)) in stated.iter().zip(found).enumerate() {
                differences(&format!("{place}/{index}"), stated, found, faults);
            }
        }
        _ if stated == found => {}
        _ => faults.push(RecordFault::Differs {
            field: place.to_owned(),
            stated: short(stated),
            found: short(found),
        }),
    }
}

/// Writes a value, a long one by its beginning.
fn short(value: &Value) -> String {
    const MOST: usize = 120;
    let text = value.to_string();
    match text.char_indices().nth(MOST) {
        Some((end, _)) => format!("{}...", &text[..end]),
        None => text,
    }
}
