use std::cell::RefCell;
use std::fmt;
use std::path::PathBuf;
use std::rc::Rc;

use super::{Journal, JournalError, Recorder, opening};
use crate::procedure::{Aside, Desk, Diagnostic, Halt, Place, Program, Shown, Stop, Walk};
use crate::quantity::Unit;
use crate::record::{
    Answer, BenchState, FoldError, Opening, Question, Record, Shop, StoreError, Told, What, document, fold,
    store,
};

/// How a run of a session ended.
#[derive(Debug)]
pub enum Ended {
    /// The procedure came to its end; the record and where it is.
    Finished(Box<Record>, PathBuf),
    /// The technician parked it.
    Parked,
    /// The desk could answer no more; everything answered is kept.
    Lost(String),
    /// The procedure made a mistake; everything answered is kept.
    Broken(Box<Diagnostic>),
}

/// Why a session could not go on.
#[derive(Debug)]
pub enum SessionError {
    /// The journal.
    Journal(JournalError),
    /// The journal makes no record.
    Fold(FoldError),
    /// The record could not be stored; its whole text.
    Store(StoreError, Option<String>),
}

impl fmt::Display for SessionError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            SessionError::Journal(error) => error.fmt(f),
            SessionError::Fold(error) => error.fmt(f),
            SessionError::Store(error, _) => error.fmt(f),
        }
    }
}

impl From<JournalError> for SessionError {
    fn from(error: JournalError) -> SessionError {
        SessionError::Journal(error)
    }
}

/// One walk of a technician through a procedure, from its opening to its record.
pub struct Session {
    shop: Shop,
    opening: Opening,
    recorder: Rc<RefCell<Recorder>>,
    vacuum_unit: &'static Unit,
}

impl Session {
    /// Takes up a session: a new journal gets its opening, one that has it goes on.
    ///
    /// # Errors
    /// Where the disk refuses, or the journal is another session's.
    pub fn new(
        shop: Shop,
        opening: Opening,
        mut journal: Journal,
        live: Box<dyn Desk>,
        now: fn() -> jiff::Timestamp,
        vacuum_unit: &'static Unit,
    ) -> Result<Session, SessionError> {
        let what = match journal.events().first() {
            None => What::Opened { opening: Box::new(opening.clone()) },
            Some(_) => What::Resumed { program: opening.program.clone() },
        };
        let is_finished =
            matches!(journal.events().last().map(|event| &event.what), Some(What::Finished { .. }));
        if !is_finished {
            journal.append(now(), what)?;
        }
        let recorder = Rc::new(RefCell::new(Recorder::new(journal, live, now)));
        Ok(Session { shop, opening, recorder, vacuum_unit })
    }

    /// Walks the procedure until it ends or is parked.
    ///
    /// # Errors
    /// Where the disk refuses or no valid record comes of it.
    pub fn run(&self, program: &Program) -> Result<Ended, SessionError> {
        let finished = matches!(
            self.recorder.borrow().journal().events().last().map(|event| &event.what),
            Some(What::Finished { .. })
        );
        while !finished {
            self.recorder.borrow_mut().begin_walk();
            match self.walk(program) {
                Ok(()) => break,
                Err(Stop::Aside(Aside::Back(steps))) => {
                    self.recorder.borrow_mut().back(steps)?;
                }
                Err(Stop::Aside(Aside::Again(steps))) => {
                    self.recorder.borrow_mut().again(steps)?;
                }
                Err(Stop::Aside(Aside::Park | Aside::Jot(_))) => {
                    self.recorder.borrow_mut().log(What::Parked)?;
                    return Ok(Ended::Parked);
                }
                Err(Stop::Aside(Aside::Lost(why))) => return Ok(Ended::Lost(why)),
                Err(Stop::Broken(diagnostic)) => return Ok(Ended::Broken(diagnostic)),
            }
        }
        if !finished {
            let mut recorder = self.recorder.borrow_mut();
            recorder.flush();
            let walk = recorder.walk().to_vec();
            recorder.log(What::Finished { walk })?;
        }
        self.finish()
    }

    fn walk(&self, program: &Program) -> Result<(), Stop> {
        let bench = BenchState::new(
            self.opening.rig.clone(),
            self.opening.procedure.oil.clone(),
            self.opening.confidence,
        );
        let mut walk = Walk::new(Box::new(Shared(self.recorder.clone())), bench, self.vacuum_unit);
        match opening::open(&mut walk, self.vacuum_unit) {
            Ok(()) => program.run(walk),
            Err(Halt::Aside(aside)) => Err(Stop::Aside(aside)),
            Err(Halt::Mistake(text)) => Err(Stop::Aside(Aside::Lost(text))),
            Err(Halt::LeaveCircuit | Halt::Titled) => Ok(()),
        }
    }

    fn finish(&self) -> Result<Ended, SessionError> {
        let record = fold(self.recorder.borrow().journal().events()).map_err(SessionError::Fold)?;
        let text = document(&record).map_err(|error| SessionError::Store(error, None))?;
        let path = store(&self.shop, &self.opening.session, &text)
            .map_err(|error| SessionError::Store(error, Some(text)))?;
        // The journal is in the record; a folder that cannot be removed is only untidy.
        if let Err(error) = std::fs::remove_dir_all(self.shop.open_sessions().join(&self.opening.session)) {
            tracing::warn!(%error, "the finished session's folder stays");
        }
        Ok(Ended::Finished(Box::new(record), path))
    }
}

/// The recorder as the walk's desk, while the session keeps hold of it.
struct Shared(Rc<RefCell<Recorder>>);

impl Desk for Shared {
    fn tell(&mut self, told: &Told) {
        self.0.borrow_mut().tell(told);
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        self.0.borrow_mut().ask(question, place)
    }

    fn show(&mut self, shown: &Shown<'_>) {
        self.0.borrow_mut().show(shown);
    }
}
