use std::path::{Path, PathBuf};
use std::rc::Rc;

use jiff::Timestamp;
use memchr::{memchr_iter, memmem};
use serde::Deserialize;
use serde_json::Value;

use super::super::walking::Walking;
use super::super::{Journal, Recorder};
use super::differences::differences;
use super::entries::{entries, is_valid_journal, last_change, late_cautions, remarks};
use super::fault::{Audit, RecordFault, RecordRemark};
use crate::disk::{self, LARGEST_DOCUMENT};
use crate::leak::Memo;
use crate::procedure::{Aside, Desk, Place, Program, SHIPPED, Source, SourceFile, Stop};
use crate::quantity::UNITS;
use crate::record::{
    Answer, Event, Opening, Origin, Plan, ProcedureIdentity, PublicKey, Question, Record, Signatures,
    SignerKey, StoreError, Verifier, What, digest, digest_of_text, is_written_as, latest_procedure,
    latest_program, sealed, signed_bytes_of, texts, validate,
};

/// Audits records, and compiles each procedure once.
#[derive(Debug, Default)]
pub struct Auditor {
    /// Each with whether the program ships it.
    programs: Vec<(Rc<Program>, bool)>,
    /// What each signer's signatures are verified with; most of a shop's records are signed by one.
    verifiers: Memo<PublicKey, Option<Verifier>>,
}

/// What a record is made of, and its seal; all else in it follows.
#[derive(Deserialize)]
struct Stated {
    journal: Vec<Event>,
    digest: Option<String>,
    signer: Option<SignerKey>,
    signature: Option<String>,
}

impl Auditor {
    /// More records at a time are hardly audited faster.
    pub const AT_A_TIME: usize = 128;

    /// Audits a record's file: its content; that it is not named after its session is remarked.
    ///
    /// # Errors
    /// Where the file cannot be read.
    pub fn audit_file(&mut self, path: &Path) -> Result<Audit, StoreError> {
        self.audit_read(path, &mut Vec::new(), None)
    }

    /// Audits records' files as [`Auditor::audit_file`] does, and makes something of each audit. Their signatures are verified
    /// together, which takes less time; where one of them does not fit, all is done once more, one by one.
    pub fn audit_files<T>(
        &mut self,
        paths: &[PathBuf],
        mut make: impl FnMut(&Path, Result<Audit, StoreError>) -> T,
    ) -> Vec<T> {
        let (mut signatures, mut bytes) = (Signatures::default(), Vec::new());
        let made: Vec<T> = paths
            .iter()
            .map(|path| make(path, self.audit_read(path, &mut bytes, Some(&mut signatures))))
            .collect();
        if signatures.all_fit() {
            return made;
        }
        paths.iter().map(|path| make(path, self.audit_file(path))).collect()
    }

    fn audit_read(
        &mut self,
        path: &Path,
        bytes: &mut Vec<u8>,
        signatures: Option<&mut Signatures>,
    ) -> Result<Audit, StoreError> {
        disk::read_into(bytes, path, LARGEST_DOCUMENT)
            .map_err(|error| StoreError::Io(path.to_owned(), error))?;
        let mut audit = self.audit_with(bytes, signatures);
        let file = path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
        if let Some(session) = audit.session.clone().filter(|session| *session != file) {
            audit.remarks.push(RecordRemark::Name { file, session });
        }
        Ok(audit)
    }

    /// Audits a record: JSON, schema, digest, every value from what was typed, every field from the procedure walked
    /// again with the journal's answers, and every byte.
    pub(crate) fn audit(&mut self, bytes: &[u8]) -> Audit {
        self.audit_with(bytes, None)
    }

    /// Leaves the signature to whoever verifies these, where there are any: it is among them then, and said to fit.
    fn audit_with(&mut self, bytes: &[u8], mut signatures: Option<&mut Signatures>) -> Audit {
        if let Some(stated) = laid_out(bytes) {
            let audit = self.audit_of(stated, bytes, signatures.as_deref_mut());
            if audit.faults.is_empty() {
                return audit;
            }
        }
        match serde_json::from_slice(bytes) {
            Ok(stated) => self.audit_of(stated, bytes, signatures),
            Err(error) => unread(bytes, &error),
        }
    }

    fn audit_of(&mut self, stated: Stated, bytes: &[u8], signatures: Option<&mut Signatures>) -> Audit {
        let Stated { journal, digest, signer, signature } = stated;
        let remarks = remarks(&journal);
        let other_version = latest_program(&journal).filter(|made| *made != VERSION).cloned();
        let mut faults = Vec::new();
        let signed_by =
            self.signed_by(digest.as_deref(), signer.as_ref(), signature.as_deref(), signatures, &mut faults);
        let again =
            self.again(journal, &mut faults).map(|record| Record { digest, signer, signature, ..record });
        if again.as_ref().is_some_and(|record| faults.is_empty() && is_intact(record, bytes)) {
            let session = again.as_ref().map(|record| record.session.clone());
            return Audit {
                session,
                record: again,
                journal_stands: true,
                signer: signed_by,
                other_version,
                faults,
                remarks,
            };
        }
        let mut audit = explained(bytes, again.as_ref(), faults);
        // A signature is over the digest, so it is over this content only where the digest is.
        let is_sealed = !audit.faults.iter().any(|fault| matches!(fault, RecordFault::Digest { .. }));
        audit.signer = signed_by.clone().filter(|_| is_sealed);
        if let Some(signer) = signed_by.filter(|_| !is_sealed) {
            audit.faults.push(RecordFault::Signature(signer.name));
        }
        Audit { remarks, other_version, ..audit }
    }

    /// Returns who signed a record; adds a fault where it names somebody who did not.
    fn signed_by(
        &mut self,
        digest: Option<&str>,
        signer: Option<&SignerKey>,
        signature: Option<&str>,
        signatures: Option<&mut Signatures>,
        faults: &mut Vec<RecordFault>,
    ) -> Option<SignerKey> {
        let name = signer.map(|signer| signer.name.clone());
        let fits = match (digest, signer, signature) {
            (_, None, None) => return None,
            (Some(digest), Some(signer), Some(signature)) => {
                let verifier = self.verifiers.get(signer.public_key, PublicKey::verifier);
                let message = signed_bytes_of(digest, signer);
                verifier.zip(message.ok()).is_some_and(|(key, message)| match signatures {
                    Some(signatures) => signatures.add(&key, &message, signature),
                    None => key.verifies(&message, signature),
                })
            }
            _ => false,
        };
        if !fits {
            faults.push(RecordFault::Signature(name.unwrap_or_default()));
        }
        signer.filter(|_| fits).cloned()
    }

    /// Returns the digest of the record that a session comes to by its journal alone; none where it comes to no end.
    pub(crate) fn digest_of(&mut self, mut journal: Journal) -> Option<String> {
        let mut faults = Vec::new();
        let record = self.again(journal.take(), &mut faults)?;
        digest(&record).ok().filter(|_| faults.is_empty())
    }

    /// Walks the procedure of a session again with its journal as the desk, and makes the record of that; none where it
    /// comes to no end.
    pub(crate) fn again(&mut self, journal: Vec<Event>, faults: &mut Vec<RecordFault>) -> Option<Record> {
        entries(&journal, faults);
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
        let (program, is_shipped) = match self.program(&identity, &journal) {
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
        let answered = std::mem::take(&mut recorder.answered);
        let record = recorder.record(&walking.opening);
        late_cautions(&record.journal, &answered, faults);
        if identity.origin == Origin::Shipped && !is_shipped && record.program == VERSION {
            let why = "it is said to be shipped with this program, which ships another text under that name";
            faults.push(RecordFault::Procedure(why.to_owned()));
        }
        let is_planned_by_complaints =
            walking.opening.exercise.is_none() && identity == walking.opening.procedure;
        if let Some(plan) = record.plan.as_ref().filter(|_| is_planned_by_complaints) {
            planned(plan, &program, faults);
        }
        let found = ProcedureIdentity {
            origin: identity.origin,
            signer: identity.signer.clone(),
            ..program.identity()
        };
        if found != identity {
            let why = "the journal says otherwise of its name, title, unit, version, oil, picture or files than its text";
            faults.push(RecordFault::Procedure(why.to_owned()));
        }
        // An answer that was kept when something had changed may have been asked otherwise.
        let last_change = last_change(&record.journal);
        faults.extend(reworded.into_iter().filter(|n| *n > last_change).map(|n| RecordFault::Asked { n }));
        Some(Record { procedure: found, ..record })
    }

    /// Returns the procedure that came to the end of a session, out of its journal.
    fn program(
        &mut self,
        identity: &ProcedureIdentity,
        journal: &[Event],
    ) -> Result<(Rc<Program>, bool), String> {
        const MOST: usize = 32;
        let known = |(program, _): &&(Rc<Program>, bool)| {
            let Source { id, files, .. } = &program.source;
            let is_there =
                |file: &SourceFile| texts(journal).any(|text| text.as_bytes() == file.bytes.as_slice());
            *id == identity.id && program.source.is_of(identity) && files.iter().all(is_there)
        };
        if let Some(known) = self.programs.iter().find(known) {
            return Ok(known.clone());
        }
        let source = Source::kept(identity, texts(journal)).map_err(|fault| fault.message)?;
        let shown = source.clone();
        let program = Rc::new(Program::compile(source).map_err(|faults| shown.render(&faults))?);
        if self.programs.len() == MOST {
            self.programs.clear();
        }
        let is_shipped = is_shipped(&program);
        self.programs.push((Rc::clone(&program), is_shipped));
        Ok((program, is_shipped))
    }
}

/// Finds what a record is made of by where it stands in one that is stored as the program does it. An audit in which nothing
/// is found has written the whole record again, so what is passed over here need not be read; after any other, all is.
fn laid_out(bytes: &[u8]) -> Option<Stated> {
    const BEGIN: &[u8] = b"\n  \"journal\": [\n    ";
    const END: &[u8] = b"\n  ]";
    /// Few lines are shorter.
    const SHORT_LINE: usize = 128;
    let behind = std::str::from_utf8(&bytes[memmem::find(bytes, BEGIN)? + BEGIN.len()..]).ok()?;
    let (lines, rest) = behind.split_at(memmem::find(behind.as_bytes(), END)?);
    let (mut journal, mut begin) = (Vec::with_capacity(lines.len() / SHORT_LINE), 0);
    for end in memchr_iter(b'\n', lines.as_bytes()).chain([lines.len()]) {
        let line = &lines[begin..end];
        journal.push(serde_json::from_str(line.strip_suffix(',').unwrap_or(line)).ok()?);
        begin = end + 1;
    }
    let seal = ["{\"journal\": []", &rest[END.len()..]].concat();
    let seal: Stated = serde_json::from_str(&seal).ok()?;
    Some(Stated { journal, ..seal })
}

/// Returns whether nothing at all is wrong with a record: whether what follows from its journal is, byte by byte, what is
/// stored. Which field is wrong where something is, this does not ask; most records are as they were stored, and for those
/// it is the short way.
fn is_intact(record: &Record, bytes: &[u8]) -> bool {
    is_written_as(record, bytes)
        && record.digest == Some(digest_of_text(bytes))
        && is_valid_journal(&record.journal)
}

/// Finds everything that is wrong with a record, field by field, beside what was found already.
fn explained(bytes: &[u8], again: Option<&Record>, found: Vec<RecordFault>) -> Audit {
    let mut audit = Audit::default();
    let stated: Value = match serde_json::from_slice(bytes) {
        Ok(value) => value,
        Err(error) => return unread(bytes, &error),
    };
    about(&stated, bytes, &mut audit);
    audit.faults.extend(found);
    let Some(again) = again else { return audit };
    match sealed(again) {
        Ok((again, document)) => {
            audit.journal_stands = document["digest"] == stated["digest"];
            differences(&stated, &document, &mut audit.faults);
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
    match serde_json::from_slice::<Value>(bytes) {
        Ok(stated) if ["session", "journal", "digest"].iter().all(|field| stated.get(field).is_none()) => {
            audit.faults.push(RecordFault::NoRecord);
        }
        Ok(stated) => {
            about(&stated, bytes, &mut audit);
            audit.faults.push(RecordFault::Journal(error.to_string()));
        }
        Err(error) => audit.faults.push(RecordFault::NotJson(error.to_string())),
    }
    audit
}

/// Looks at a document by itself: whose it is, its schema, its digest. Where it can be read as a record, spacing doesn't count.
fn about(stated: &Value, bytes: &[u8], audit: &mut Audit) {
    audit.session = stated["session"].as_str().map(str::to_owned);
    if let Err(breaches) = validate(stated) {
        audit.faults.extend(breaches.into_iter().map(RecordFault::Schema));
    }
    let found = digest_of_text(bytes);
    // The same record in another layout is no other record.
    let laid_out = || serde_json::from_slice::<Record>(bytes).and_then(|record| digest(&record));
    if stated["digest"] != found.as_str()
        && !laid_out().is_ok_and(|laid_out| stated["digest"] == laid_out.as_str())
    {
        audit.faults.push(RecordFault::Digest { found });
    }
}

const VERSION: &str = env!("CARGO_PKG_VERSION");

/// Checks that the circuits of a plan are those that its complaints lead to, or the order that its seed draws; a test after a
/// repair follows another record.
fn planned(plan: &Plan, program: &Program, faults: &mut Vec<RecordFault>) {
    let (None, Ok(outline)) = (&plan.after, program.outline()) else { return };
    if plan.seed.is_some_and(|seed| Plan::in_drawn_order(&outline.circuits, seed).as_ref() == Some(plan)) {
        return;
    }
    let sought = if plan.meant.is_empty() { &plan.complaints } else { &plan.meant };
    let again = Plan::from_complaints(sought, &outline.circuits);
    if again.is_ok_and(|again| again.given_as(&plan.complaints) == *plan) {
        return;
    }
    let names = plan.circuits.iter().map(|planned| planned.circuit.as_str());
    faults.push(RecordFault::Differs {
        field: "/plan/circuits".to_owned(),
        circuit: None,
        stated: Value::from(names.collect::<Vec<_>>().join(", ")),
        found: Value::from("others, or another order"),
    });
}

/// Returns whether the program ships just this procedure.
fn is_shipped(program: &Program) -> bool {
    let shipped = SHIPPED.iter().find(|shipped| shipped.id == program.source.id);
    shipped
        .and_then(|shipped| shipped.source().ok())
        .is_some_and(|shipped| shipped.is_of(&program.identity()))
}

/// Nobody is asked while a session that is over is walked again: its journal answers, or it comes to no end.
struct Nobody;

impl Desk for Nobody {
    fn ask(&mut self, question: &Question, _: &Place) -> Result<Answer, Aside> {
        Err(Aside::Lost(format!("nobody answers: {}", question.words)))
    }
}
