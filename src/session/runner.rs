use std::cell::RefCell;
use std::path::PathBuf;
use std::rc::Rc;

use super::files::put_away;
use super::{Journal, LogError, Person, Recorder};
use crate::leak::Verdict;
use crate::procedure::{Aside, Desk, Duty, Fault, Halt, Place, Program, Shown, Stop, Walk};
use crate::quantity::Unit;
use crate::record::{
    Answer, BenchState, BenchStateError, Circuit, FoldError, HoseOn, Opening, ProcedureIdentity, Question,
    Record, RigParts, RigStep, Shop, StoreError, Told, Wants, What, document, fold, options, store,
};
use crate::rig::coaching::{CoachStep, Setting};

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
    #[error("{0}")]
    Fold(FoldError),
    /// The record could not be stored; its whole text.
    #[error("{0}")]
    Store(StoreError, Option<String>),
}

/// What has changed since a session began.
#[derive(Debug, Default)]
pub(crate) struct Changes {
    /// The procedure as it is now, where it has.
    pub procedure: Option<ProcedureIdentity>,
    /// The parts of the rig as they are now, where they have.
    pub rig: Option<RigParts>,
}

/// One walk of a technician through a procedure, from its opening to its record.
pub(crate) struct Session {
    shop: Shop,
    opening: Opening,
    recorder: Rc<RefCell<Recorder>>,
    vacuum_unit: &'static Unit,
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
            let procedure = changes.procedure.map(Box::new);
            journal.append(
                now(),
                What::Resumed { program: opening.program.clone(), procedure, rig: changes.rig },
            )?;
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
        let recorder = Rc::new(RefCell::new(Recorder::new(journal, live, now)));
        Ok(Session { shop, opening, recorder, vacuum_unit })
    }

    pub(crate) fn run(&self, program: &Program) -> Result<Ended, SessionError> {
        match self.go_on(program) {
            // What is no answer is like one: all that is on the disk before it is kept.
            Err(SessionError::Journal(why)) => Ok(self.stranded(why.to_string())),
            ended => ended,
        }
    }

    fn stranded(&self, why: String) -> Ended {
        Ended::Stranded(why, self.recorder.borrow().journal.text().unwrap_or_default())
    }

    fn go_on(&self, program: &Program) -> Result<Ended, SessionError> {
        if self.recorder.borrow().journal.is_finished() {
            // The program ended between the last answer and the record; only the record is missing.
            return self.finish();
        }
        loop {
            match self.walk(program) {
                Ok(()) => break,
                Err(Stop::Aside(Aside::Back(steps))) => self.recorder.borrow_mut().back(steps)?,
                Err(Stop::Aside(Aside::Again(steps))) => self.recorder.borrow_mut().again(steps)?,
                Err(Stop::Drifted) => self.recorder.borrow_mut().drifted()?,
                Err(Stop::Aside(Aside::Park | Aside::Jot(_))) => {
                    self.recorder.borrow_mut().log(What::Parked)?;
                    return Ok(Ended::Parked);
                }
                Err(Stop::Aside(Aside::Lost(why))) => {
                    let is_stranded = self.recorder.borrow().is_stranded;
                    return Ok(if is_stranded { self.stranded(why) } else { Ended::Lost(why) });
                }
                Err(Stop::Broken(fault)) => return Ok(Ended::Broken(fault)),
            }
        }
        let mut recorder = self.recorder.borrow_mut();
        recorder.flush(false);
        let walk = recorder.walk.clone();
        recorder.log(What::Finished { walk })?;
        drop(recorder);
        self.finish()
    }

    /// Walks the procedure; with a plan, once for each planned circuit, so that they come in the plan's order whatever
    /// the script's is, and what the script does after its tests comes after all of them. What was answered on an earlier
    /// walk is answered by the journal.
    fn walk(&self, program: &Program) -> Result<(), Stop> {
        let order = self.opening.plan.iter().flat_map(|plan| &plan.circuits);
        let order: Vec<_> = order.map(|planned| planned.circuit.clone()).collect();
        self.recorder.borrow_mut().begin();
        for n in 1..order.len() {
            walk_tests(program, self.new_walk(program).first_of(n, &order))?;
            self.recorder.borrow_mut().begin_walk();
        }
        let walk = self.new_walk(program);
        let walk = if self.opening.plan.is_some() { walk.first_of(order.len(), &order) } else { walk };
        walk_closing(&mut walk_tests(program, walk)?)
    }

    fn new_walk(&self, program: &Program) -> Walk {
        let oil = self.recorder.borrow().journal.procedure().and_then(|procedure| procedure.oil);
        let bench =
            BenchState::new(self.opening.rig, oil, self.opening.confidence).thorough(program.sets_rig);
        Walk::new(Box::new(self.recorder.clone()), bench, self.vacuum_unit)
    }

    fn finish(&self) -> Result<Ended, SessionError> {
        let record = fold(self.recorder.borrow().journal.events()).map_err(SessionError::Fold)?;
        let text = document(&record).map_err(|error| SessionError::Store(error, None))?;
        let path = store(&self.shop, &self.opening.session, &text)
            .map_err(|error| SessionError::Store(error, Some(text)))?;
        // The journal is in the record; a folder that cannot be removed is only untidy.
        put_away(&self.shop.session(&self.opening.session));
        Ok(Ended::Finished(Box::new(record), path))
    }
}

/// The recorder is the walk's desk while the session keeps hold of it.
impl Desk for Rc<RefCell<Recorder>> {
    fn tell(&mut self, told: &Told) {
        self.borrow_mut().tell(told);
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        self.borrow_mut().ask(question, place)
    }

    fn duty(&mut self, before: Option<&str>) -> Duty {
        self.borrow_mut().duty(before)
    }

    fn show(&mut self, shown: &Shown<'_>) {
        self.borrow_mut().show(shown);
    }
}

/// Walks what the runner asks first, who tests and the barometer, and then the procedure, and gives the walk back.
pub(crate) fn walk_tests(program: &Program, walk: Walk) -> Result<Walk, Stop> {
    let mut walk = walk.setting_the_rig_by(calibrate);
    walk.ask_for_runner("Who is testing?", Wants::Technician).map_err(stop)?;
    walk.ask_for_runner(BAROMETER, Wants::Barometer).map_err(stop)?;
    if !program.sets_rig {
        calibrate(&mut walk).map_err(stop)?;
    }
    program.run(walk)
}

/// Walks what the runner asks after the procedure: a last check of the rig, and what is decided about each circuit that
/// does not hold, which the record keeps beside the verdict.
pub(crate) fn walk_closing(walk: &mut Walk) -> Result<(), Stop> {
    walk.keep_rig(None).map_err(stop)?;
    let failed: Vec<(Circuit, Verdict)> = walk
        .verdicts()
        .filter(|(_, verdict)| matches!(verdict, Verdict::Worn | Verdict::Leaks))
        .map(|(circuit, verdict)| (circuit.clone(), verdict))
        .collect();
    for (circuit, verdict) in failed {
        let words = format!("{}, {verdict}: what is to be done?", circuit.name);
        let wants = Wants::Decision { of: circuit.name.clone(), options: options(&circuit) };
        walk.ask_for_runner(&words, wants).map_err(stop)?;
    }
    Ok(())
}

/// Coaches a person through setting the rig, without a procedure and without a record. `back` and `again` begin anew.
pub(crate) fn coach(person: Person, bench: BenchState, vacuum_unit: &'static Unit) -> Result<(), String> {
    let mut walk = Walk::new(Box::new(person), bench, vacuum_unit);
    loop {
        let barometer = walk.ask_for_runner(BAROMETER, Wants::Barometer);
        match barometer.and_then(|_| calibrate(&mut walk)) {
            Ok(()) => return Ok(()),
            Err(Halt::Aside(Aside::Back(_) | Aside::Again(_) | Aside::Jot(_))) => {}
            Err(Halt::Aside(Aside::Lost(why))) => return Err(why),
            Err(Halt::Fault(fault)) => return Err(fault.message),
            Err(Halt::Aside(Aside::Park) | Halt::LeaveCircuit | Halt::Drifted | Halt::FarEnough) => {
                return Err("the rig is not set".to_owned());
            }
        }
    }
}

const BAROMETER: &str = "What is the barometer at the bench?";

/// Coaches the technician through the two points of the rig, until both are within tolerance.
fn calibrate(walk: &mut Walk) -> Result<(), Halt> {
    let unset = |error: BenchStateError| Halt::from(Fault::of(error.to_string()));
    let unit = walk.vacuum_unit();
    walk.begin_calibration();
    loop {
        let coached = walk.bench().coached().map_err(unset)?;
        let words = match &coached.step {
            CoachStep::Settled { .. } => break,
            CoachStep::Repair(finding) => {
                walk.ask_for_runner(&finding.to_string(), Wants::Ready)?;
                continue;
            }
            CoachStep::Read(condition) => {
                format!("{} Turn no valve, and read the gauge.", condition.instruction())
            }
            CoachStep::Set { setting, .. } => format!("{}, then read it.", set_words(setting, unit)),
            CoachStep::TurnToStop { condition, valve, stop } => {
                format!(
                    "{} Turn the {valve} {stop}, as far as it goes, and read the gauge.",
                    condition.instruction()
                )
            }
        };
        let Some(step) = RigStep::of(&coached.step) else { break };
        walk.show_reason(&coached.reason);
        // A dial may show a little more than there is; what that means is the coach's to say.
        let deepest_pa =
            walk.bench().barometer().map_or(f64::MAX, |barometer| 1.1 * barometer.station().si());
        let wants = Wants::Reading { on: HoseOn::Rig { step }, deepest_pa, unit: unit.symbol.to_owned() };
        walk.ask_for_runner(&words, wants)?;
    }
    walk.show_calibration();
    Ok(())
}

pub(crate) fn set_words(setting: &Setting, unit: &Unit) -> String {
    format!(
        "{} {} the {} until the gauge shows {}",
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
