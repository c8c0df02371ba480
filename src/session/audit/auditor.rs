use std::fs;
use std::path::Path;
use std::rc::Rc;

use jiff::Timestamp;
use serde::Deserialize;
use serde_json::Value;

use super::super::walking::Walking;
use super::super::{Journal, Recorder};
use super::differences::differences;
use super::entries::{entries, is_change, remarks};
use super::fault::{Audit, RecordFault};
use crate::procedure::{Aside, Desk, Place, Program, Source, Stop};
use crate::quantity::UNITS;
use crate::record::{
    Answer, Event, Opening, ProcedureIdentity, Question, Record, StoreError, What, digest, is_valid,
    is_written_as, latest_procedure, sealed, texts, validate,
};

/// Audits records, and compiles each procedure once.
#[derive(Debug, Default)]
pub struct Auditor {
    programs: Vec<Rc<Program>>,
}

/// What a record is made of, and its seal; all else in it follows.
#[derive(Deserialize)]
struct Stated {
    journal: Vec<Event>,
    digest: Option<String>,
}

impl Auditor {
    /// Audits a record's file: its content, and that it is named after its session.
    ///
    /// # Errors
    /// Where the file cannot be read.
    pub fn audit_file(&mut self, path: &Path) -> Result<Audit, StoreError> {
        let bytes = fs::read(path).map_err(|error| StoreError::Io(path.to_owned(), error))?;
        let mut audit = self.audit(&bytes);
        let file = path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
        if let Some(session) = audit.session.clone().filter(|session| *session != file) {
            audit.faults.push(RecordFault::Name { file, session });
        }
        Ok(audit)
    }

    /// Audits a record: JSON, schema, digest, every value from what was typed, every field from the procedure walked
    /// again with the journal's answers, and every byte.
    pub(crate) fn audit(&mut self, bytes: &[u8]) -> Audit {
        let Stated { journal, digest } = match serde_json::from_slice(bytes) {
            Ok(stated) => stated,
            Err(error) => return unread(bytes, &error),
        };
        let remarks = remarks(&journal);
        let mut faults = Vec::new();
        entries(&journal, &mut faults);
        let again = self.again(journal, &mut faults).map(|record| Record { digest, ..record });
        if again.as_ref().is_some_and(|record| faults.is_empty() && is_intact(record, bytes)) {
            let session = again.as_ref().map(|record| record.session.clone());
            return Audit { session, record: again, journal_stands: true, faults, remarks };
        }
        Audit { remarks, ..explained(bytes, again.as_ref(), faults) }
    }

    /// Walks the procedure of a session again with its journal as the desk, and makes the record of that; none where it
    /// comes to no end.
    fn again(&mut self, journal: Vec<Event>, faults: &mut Vec<RecordFault>) -> Option<Record> {
        let Some(What::Opened { opening }) = journal.first().map(|event| &event.what) else {
            faults.push(RecordFault::Journal("it does not begin with an opening".to_owned()));
            return None;
        };
        let Some(What::Finished { walk }) = journal.last().map(|event| &event.what) else {
            faults.push(RecordFault::Journal("the session is not finished".to_owned()));
            return None;
        };
        let (opening, walk) = (Opening::clone(opening), walk.clone());
        let identity = latest_procedure(&journal).unwrap_or(&opening.procedure).clone();
        let program = match self.program(&identity, &journal) {
            Ok(program) => program,
            Err(why) => {
                faults.push(RecordFault::Procedure(why));
                return None;
            }
        };
        let recorder = Recorder::new(Journal::of(journal), Box::new(Nobody), || Timestamp::UNIX_EPOCH);
        let walking = Walking::new(opening, recorder, &UNITS[0]);
        if let Err(stop) = walking.walk(&program) {
            faults.push(RecordFault::Walk(match stop {
                Stop::Aside(Aside::Lost(why)) => why,
                Stop::Aside(_) => "it was interrupted".to_owned(),
                Stop::Drifted => "the rig is off at its last check".to_owned(),
                Stop::Broken(fault) => program.source.render(&[*fault]),
            }));
            return None;
        }
        let mut recorder = walking.recorder.borrow_mut();
        if recorder.walk != walk {
            let found = format!("it rests on the answers {:?}, not {walk:?}", recorder.walk);
            faults.push(RecordFault::Walk(found));
        }
        let reworded = std::mem::take(&mut recorder.reworded);
        let record = recorder.record(&walking.opening);
        let found =
            ProcedureIdentity { origin: identity.origin, signer: identity.signer, ..program.identity() };
        // An answer that was kept when something had changed may have been asked otherwise.
        let last_change = record.journal.iter().rev().find(|event| is_change(&event.what));
        let last_change = last_change.map_or(0, |event| event.n);
        faults.extend(reworded.into_iter().filter(|n| *n > last_change).map(|n| RecordFault::Asked { n }));
        Some(Record { procedure: found, ..record })
    }

    /// Returns the procedure that came to the end of a session, out of its journal.
    fn program(&mut self, identity: &ProcedureIdentity, journal: &[Event]) -> Result<Rc<Program>, String> {
        const MOST: usize = 32;
        let source = Source::kept(identity, texts(journal)).map_err(|fault| fault.message)?;
        let known = |program: &&Rc<Program>| {
            program.source.id == source.id && program.source.digests() == source.digests()
        };
        if let Some(program) = self.programs.iter().find(known) {
            return Ok(Rc::clone(program));
        }
        let shown = source.clone();
        let program = Rc::new(Program::compile(source).map_err(|faults| shown.render(&faults))?);
        if self.programs.len() == MOST {
            self.programs.clear();
        }
        self.programs.push(Rc::clone(&program));
        Ok(program)
    }
}

/// Returns whether nothing at all is wrong with a record: whether what follows from its journal is, byte by byte, what is
/// stored. Which field is wrong where something is, this does not ask; most records are as they were stored, and for those
/// it is the short way.
fn is_intact(record: &Record, bytes: &[u8]) -> bool {
    let is_sealed = |document: &Value| record.digest == digest(document).ok() && is_valid(document);
    is_written_as(record, bytes) && serde_json::to_value(record).is_ok_and(|document| is_sealed(&document))
}

/// Finds everything that is wrong with a record, field by field, beside what was found already.
fn explained(bytes: &[u8], again: Option<&Record>, found: Vec<RecordFault>) -> Audit {
    let mut audit = Audit::default();
    let stated: Value = match serde_json::from_slice(bytes) {
        Ok(value) => value,
        Err(error) => return unread(bytes, &error),
    };
    about(&stated, &mut audit);
    audit.faults.extend(found);
    let Some(again) = again else { return audit };
    match sealed(again) {
        Ok((again, document)) => {
            audit.journal_stands = document["digest"] == stated["digest"];
            differences("", &stated, &document, &mut audit.faults);
            if audit.faults.is_empty() && !is_written_as(&again, bytes) {
                audit.faults.push(RecordFault::Form);
            }
        }
        Err(error) => audit.faults.push(RecordFault::Journal(error.to_string())),
    }
    audit
}

/// Says what can be said of a document that has no journal to go by.
fn unread(bytes: &[u8], error: &serde_json::Error) -> Audit {
    let mut audit = Audit::default();
    match serde_json::from_slice(bytes) {
        Ok(stated) => {
            about(&stated, &mut audit);
            audit.faults.push(RecordFault::Journal(error.to_string()));
        }
        Err(error) => audit.faults.push(RecordFault::NotJson(error.to_string())),
    }
    audit
}

/// Looks at a document by itself: whose it is, its schema, its digest.
fn about(stated: &Value, audit: &mut Audit) {
    audit.session = stated["session"].as_str().map(str::to_owned);
    if let Err(breaches) = validate(stated) {
        audit.faults.extend(breaches.into_iter().map(RecordFault::Schema));
    }
    match digest(stated) {
        Ok(content) if stated["digest"] == content.as_str() => {}
        Ok(content) => audit.faults.push(RecordFault::Digest { found: content }),
        Err(error) => audit.faults.push(RecordFault::Journal(error.to_string())),
    }
}

/// Nobody is asked while a session that is over is walked again: its journal answers, or it comes to no end.
struct Nobody;

impl Desk for Nobody {
    fn ask(&mut self, question: &Question, _: &Place) -> Result<Answer, Aside> {
        Err(Aside::Lost(format!("nobody answers: {}", question.words)))
    }
}
