use std::collections::HashSet;
use std::fs;
use std::path::Path;

use serde::Deserialize;
use serde_json::Value;

use super::difference::differences;
use super::{Fault, Place};
use crate::record::{
    Answer, Event, FileDigest, ReadingRecord, Record, Step, StoreError, What, digest, document, fold,
    validate,
};

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

    /// Returns the names of the procedure's files that are other ones now. Procedures may change, so that is no
    /// fault of the record.
    pub fn changed_since(&self, now: &[FileDigest]) -> Vec<&str> {
        let differs =
            |ran: &&FileDigest| now.iter().any(|file| file.name == ran.name && file.sha256 != ran.sha256);
        self.files.iter().filter(differs).map(|ran| ran.name.as_str()).collect()
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
    let content = digest(&stated).unwrap_or_default();
    if stated["digest"] != content.as_str() {
        audit.faults.push(Fault::Digest { found: content });
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

/// Checks the journal itself: the numbers of its events, that nothing rests on an answer that was taken back, and that
/// what was typed gives the values that are stated.
fn entries(journal: &[Event], faults: &mut Vec<Fault>) {
    let mut retracted = HashSet::new();
    for (index, event) in journal.iter().enumerate() {
        if event.n != index as u64 + 1 {
            faults.push(Fault::Order { place: index + 1, n: event.n });
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
                faults.push(Fault::Entered { n: event.n, entered, found });
            }
            What::Finished { walk } => {
                let resting = walk.iter().filter_map(|step| match step {
                    Step::Asked { n } if retracted.contains(n) => Some(*n),
                    _ => None,
                });
                faults.extend(resting.map(|n| Fault::Retracted { n }));
            }
            _ => {}
        }
    }
}

/// Looks for circuits whose readings no good check of the rig follows.
fn uncovered(record: &Record, faults: &mut Vec<Fault>) {
    let is_covered = |reading: &ReadingRecord| {
        let check = reading.check.and_then(|check| record.checks.get(check.checked_sub(1)?));
        check.is_some_and(|check| check.is_good)
    };
    let uncovered = record.circuits.iter().filter(|circuit| !circuit.readings.iter().all(is_covered));
    faults.extend(uncovered.map(|circuit| Fault::Uncovered { circuit: circuit.circuit.name.clone() }));
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

fn first_difference(one: &[u8], other: &[u8]) -> Option<usize> {
    match one.iter().zip(other).position(|(one, other)| one != other) {
        Some(at) => Some(at),
        None if one.len() == other.len() => None,
        None => Some(one.len().min(other.len())),
    }
}
