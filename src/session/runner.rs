use std::path::PathBuf;
use std::sync::Arc;

use super::sweep::put_away;
use super::walking::Walking;
use super::{Journal, Recorder};
use crate::disk::LogError;
use crate::leak::Verdict;
use crate::procedure::{Aside, Commit, Desk, Fault, Halt, Program, RunnersPart, Stop, Walk};
use crate::quantity::Unit;
use crate::record::{
    BenchStateError, Circuit, GO_ON, HoseOn, Opening, ProcedureIdentity, Question, Record, RigParts, RigStep,
    SaidEarlier, Shop, StoreError, Wants, What, document, options, sealed, store, texts,
};
use crate::rig::Dial;
use crate::rig::coaching::{CalibrationGoal, CoachStep, Setting};

#[derive(Debug)]
pub(crate) enum Ended {
    /// The procedure came to its end; the record and where it is.
    Finished(Box<Record>, PathBuf),
    Parked,
    /// The desk could answer no more; everything answered is kept.
    Lost(String),
    /// The journal can't be written any more; its whole text, every answer up to the last one taken.
    Stranded(String, String),
    /// The procedure made a mistake; everything answered is kept.
    Broken(Box<Fault>),
}

impl Ended {
    /// Returns the kind of end in a word, for a log that keeps no more than that.
    pub(crate) fn kind(&self) -> &'static str {
        match self {
            Ended::Finished(..) => "finished",
            Ended::Parked => "parked",
            Ended::Lost(_) => "lost",
            Ended::Stranded(..) => "stranded",
            Ended::Broken(_) => "broken",
        }
    }
}

#[derive(Debug, thiserror::Error)]
pub(crate) enum SessionError {
    #[error(transparent)]
    Journal(#[from] LogError),
    /// The record could not be stored; its whole text.
    #[error("{0}")]
    Store(StoreError, Option<String>),
}

/// What has changed since a session began.
#[derive(Debug, Default)]
pub(crate) struct Changes {
    /// The procedure as it is now, where it has.
    pub procedure: Option<Box<ProcedureNow>>,
    /// The parts of the rig as they are now, where they have.
    pub rig: Option<RigParts>,
    /// Whether another session was at the rig since.
    pub was_rig_used: bool,
    /// Who tests from here on, where that is somebody else.
    pub technician: Option<String>,
}

/// A procedure that has changed since a session began with it.
#[derive(Debug)]
pub(crate) struct ProcedureNow {
    pub identity: ProcedureIdentity,
    /// The texts of its files, in their order.
    pub texts: Vec<String>,
}

/// One walk of a technician through a procedure, from its opening to its record.
pub(crate) struct Session {
    shop: Shop,
    walking: Walking,
}

impl Session {
    /// Takes up a session: a new journal gets its opening, one that has it goes on, with procedure and rig as they
    /// are now. With other parts of the rig nothing that was read before holds: it is taken back.
    pub(crate) fn new(
        shop: Shop,
        opening: Opening,
        changes: Changes,
        mut journal: Journal,
        live: Box<dyn Desk>,
        now: fn() -> jiff::Timestamp,
        vacuum_unit: &'static Unit,
    ) -> Result<Session, SessionError> {
        if journal.events().is_empty() {
            journal.append(now(), What::Opened { opening: Box::new(opening.clone()) })?;
        } else if !journal.is_finished() {
            let (procedure, texts) = match changes.procedure {
                Some(source) => {
                    let is_new = |text: &String| !texts(journal.events()).any(|known| known == text);
                    (Some(Box::new(source.identity)), source.texts.into_iter().filter(is_new).collect())
                }
                None => (None, Vec::new()),
            };
            let resumed =
                What::Resumed { program: opening.program.clone(), procedure, texts, rig: changes.rig };
            journal.append(now(), resumed)?;
            if let Some(technician) = changes.technician {
                journal.append(now(), What::TakenOver { technician })?;
            }
            if changes.rig.is_some() {
                // The hose has been off its circuit too, so the plate is seated again.
                let is_undone = |question: &Question| match question.wants {
                    Wants::Reading { .. } => true,
                    Wants::Ready | Wants::Wait { .. } => question.circuit.is_some(),
                    _ => false,
                };
                let answers: Vec<_> =
                    journal.standing().filter(|(_, q, _)| is_undone(q)).map(|(n, _, _)| n).collect();
                if !answers.is_empty() {
                    journal.append(now(), What::Retracted { answers })?;
                }
            }
        }
        let recorder = Recorder::new(journal, live, now)
            .doubting_rig(changes.was_rig_used)
            .keeping_photos_in(shop.clone());
        Ok(Session { shop, walking: Walking::new(opening, recorder, vacuum_unit) })
    }

    /// Walks the procedure to its end, or until it is left. A program that ended between the last answer and the record
    /// walks it once more: only the record is missing.
    ///
    /// A record that is whole is given to `enter`, to be signed and entered where the shop does that, and then stored.
    pub(crate) fn run(
        &self,
        program: &Program,
        enter: impl FnOnce(Record) -> Record,
    ) -> Result<Ended, SessionError> {
        let ended = match self.to_its_end(program) {
            Ok(Ok(record)) => return self.finish(&record, enter),
            Ok(Err(ended)) => ended,
            // What is no answer is like one: all that is on the disk before it is kept.
            Err(error) => self.stranded(error.to_string()),
        };
        Ok(ended)
    }

    /// Returns who tests, and in what air.
    pub(crate) fn said(&self) -> SaidEarlier {
        SaidEarlier::of(self.walking.recorder.borrow().journal.events())
    }

    /// Returns whether nothing that was answered stands.
    pub(crate) fn is_unanswered(&self) -> bool {
        self.walking.recorder.borrow().journal.standing().next().is_none()
    }

    /// Takes away what is left of a session that nobody will go on with.
    pub(crate) fn put_away(&self) {
        put_away(&self.shop.session(&self.walking.opening.session));
    }

    fn stranded(&self, why: String) -> Ended {
        Ended::Stranded(why, self.walking.recorder.borrow().journal.text().unwrap_or_default())
    }

    /// Walks the procedure to its end and gives the record, or says how it was left.
    pub(crate) fn to_its_end(&self, program: &Program) -> Result<Result<Record, Ended>, LogError> {
        let recorder = &self.walking.recorder;
        loop {
            match self.walking.walk(program) {
                Ok(()) => break,
                Err(Stop::Aside(Aside::Back(steps))) => recorder.borrow_mut().back(steps)?,
                Err(Stop::Aside(Aside::Again(steps))) => recorder.borrow_mut().again(steps)?,
                Err(Stop::Drifted) => recorder.borrow_mut().drifted()?,
                Err(Stop::Aside(
                    Aside::Park | Aside::Jot(_) | Aside::Photo { .. } | Aside::TakenOver(_) | Aside::Did(_),
                )) => {
                    recorder.borrow_mut().log(What::Parked)?;
                    return Ok(Err(Ended::Parked));
                }
                Err(Stop::Aside(Aside::Lost(why))) => {
                    let is_stranded = recorder.borrow().is_stranded;
                    return Ok(Err(if is_stranded { self.stranded(why) } else { Ended::Lost(why) }));
                }
                Err(Stop::Broken(fault)) => return Ok(Err(Ended::Broken(fault))),
            }
        }
        let mut recorder = recorder.borrow_mut();
        recorder.flush(false);
        if !recorder.journal.is_finished() {
            let walk = recorder.walk.clone();
            recorder.log(What::Finished { walk })?;
        }
        Ok(Ok(recorder.record(&self.walking.opening)))
    }

    fn finish(&self, record: &Record, enter: impl FnOnce(Record) -> Record) -> Result<Ended, SessionError> {
        let (record, _) = sealed(record).map_err(|error| SessionError::Store(error, None))?;
        let record = enter(record);
        let session = &record.session;
        let text = document(&record).map_err(|error| SessionError::Store(error, None))?;
        let path =
            store(&self.shop, session, &text).map_err(|error| SessionError::Store(error, Some(text)))?;
        // The journal is in the record; a folder that cannot be removed is only untidy.
        put_away(&self.shop.session(session));
        Ok(Ended::Finished(Box::new(record), path))
    }
}

/// Walks what the runner asks first, who tests and what the air is like, and then the procedure, which has the rig set
/// where it says so, else before its first test; gives the walk back. Of a student it is asked at each circuit what is
/// to be `commit`ted to.
pub(crate) fn walk_tests(program: &Program, walk: Walk, commit: Option<Commit>) -> Result<Walk, Stop> {
    let close = if commit.is_some() { keep_rig_to_the_end } else { close };
    let mut walk = walk.with_runner(RunnersPart { set_rig: calibrate, close, commit });
    walk.ask_for_runner("Who is testing?", Wants::Technician).map_err(stop)?;
    ask_for_air(&mut walk).map_err(stop)?;
    program.run(walk)
}

/// Walks what the runner asks after the tests, unless the procedure has said itself when that is.
pub(crate) fn walk_closing(walk: &mut Walk) -> Result<(), Stop> {
    walk.close_if_open().map_err(stop)
}

/// Asks for a last check of the rig, where all is decided already.
fn keep_rig_to_the_end(walk: &mut Walk) -> Result<(), Halt> {
    walk.keep_rig(None)
}

/// Asks for a last check of the rig, and for what is decided about each circuit that is sure not to be as it should,
/// which the record keeps beside the verdict.
fn close(walk: &mut Walk) -> Result<(), Halt> {
    walk.keep_rig(None)?;
    let amiss: Vec<(Arc<Circuit>, Verdict)> =
        walk.amiss().map(|(circuit, verdict)| (Arc::clone(circuit), verdict)).collect();
    for (circuit, verdict) in amiss {
        let found = if verdict == Verdict::Retest { "not sound" } else { verdict.word() };
        let words = format!("{}, {found}: what is to be done?", circuit.name);
        let wants = Wants::Decision { of: circuit.name.clone(), options: options(&circuit) };
        walk.ask_about(&circuit, words, wants)?;
    }
    Ok(())
}

/// Asks for what the air is like in which everything is read.
pub(super) fn ask_for_air(walk: &mut Walk) -> Result<(), Halt> {
    walk.ask_for_runner("What is the barometer at the bench?", Wants::Barometer)?;
    walk.ask_for_runner("What is the temperature at the bench?", Wants::AirTemperature)?;
    Ok(())
}

/// Coaches the technician through the two points of the rig, until both are within tolerance.
pub(super) fn calibrate(walk: &mut Walk) -> Result<(), Halt> {
    let unset = |error: BenchStateError| Halt::from(Fault::of(error.to_string()));
    let unit = walk.vacuum_unit();
    walk.begin_calibration();
    loop {
        let coached = walk.bench().coached().map_err(unset)?;
        let words = match &coached {
            CoachStep::Settled { .. } => break,
            CoachStep::Repair(finding) => {
                let (words, wants) = match walk.bench().within_reach() {
                    Some(goal) => {
                        (format!("{finding} {}", offer(&goal, unit)), Wants::Choice { options: ways_on() })
                    }
                    None => (finding.to_string(), Wants::Ready),
                };
                walk.ask_for_runner(words, wants)?;
                continue;
            }
            CoachStep::Read(condition) => {
                format!("{} Turn no valve.", condition.instruction())
            }
            CoachStep::Set { setting, .. } => {
                format!("{}, then read it.", set_words(setting, walk.bench().dial(), unit))
            }
            CoachStep::TurnToStop { condition, valve, stop } => {
                format!(
                    "{} Turn the {valve} {stop}, as far as it goes, and read the gauge.",
                    condition.instruction()
                )
            }
        };
        let Some(step) = RigStep::of(&coached) else { break };
        walk.show_coaching();
        let deepest_pa = walk.bench().deepest_pa();
        let wants = Wants::Reading { on: HoseOn::Rig(step), deepest_pa, unit: unit.symbol.to_owned() };
        walk.ask_for_runner(words, wants)?;
    }
    walk.show_calibration();
    Ok(())
}

fn ways_on() -> Vec<String> {
    [GO_ON, "it is put right: start over"].map(str::to_owned).to_vec()
}

/// Says what going on with a pump as it is comes to.
fn offer(goal: &CalibrationGoal, unit: &Unit) -> String {
    format!(
        "Put it right and start over, or go on with what the pump reaches: {} plugged and {} through the orifice. \
         Enter the pump's figures then, so that readings are judged by them; to stop here, type park.\n\
         spoolproof rig set --pump-plugged V --pump-through V",
        goal.plugged().in_unit(unit),
        goal.through().in_unit(unit)
    )
}

pub(crate) fn set_words(setting: &Setting, dial: &Dial, unit: &Unit) -> String {
    let between = if dial.is_between_marks(setting.set_to_pa) { ", midway between two marks" } else { "" };
    format!(
        "{} {} the {} until the gauge shows {}{between}",
        setting.condition.instruction(),
        setting.turn.word(),
        setting.valve,
        setting.set_to_pa.in_unit(unit)
    )
}

/// Turns a halt outside a script into a stop.
fn stop(halt: Halt) -> Stop {
    match halt {
        Halt::Aside(aside) => Stop::Aside(aside),
        Halt::Drifted => Stop::Drifted,
        Halt::Fault(fault) => Stop::Aside(Aside::Lost(fault.message)),
        Halt::LeaveCircuit | Halt::FarEnough => Stop::Aside(Aside::Lost("the walk ended early".to_owned())),
    }
}
