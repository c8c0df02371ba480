//! Students who exist in numbers only, of known skill, at the bench of an exercise.

use std::cell::RefCell;

use crate::leak::Verdict;
use crate::practice::{
    CAUSE, EVERYWHERE, PLACE, Prepared, REPAIR, SURE, SURENESS, VERDICT, Workbench, repairs, right_repair,
};
use crate::procedure::{Aside, Desk, Mood, Place, Program, SHIPPED};
use crate::quantity::INCH_OF_MERCURY;
use crate::record::{
    Answer, Cause, Circuit, Exercise, HoseOn, Question, Record, RigParts, RigStep, Wants, What,
};
use crate::rig::simulated::Chance;
use crate::rig::{Condition, Valve, ValveStop, ValveTurn};
use crate::session::Ended;
use crate::tests::support::Shopfront;

/// What a student can do. All from 0, the best there is.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Skill {
    /// How far the eye errs at most, in divisions of the dial.
    pub eye: f64,
    /// How often a step is left out: wiping, waiting, closing a port.
    pub haste: f64,
    /// How often a verdict, a cause or a repair is guessed.
    pub guesses: f64,
    /// What is said of every circuit, whatever it reads; none of somebody who judges.
    pub always: Option<bool>,
}

impl Skill {
    pub(crate) const PERFECT: Skill = Skill { eye: 0.0, haste: 0.0, guesses: 0.0, always: None };
}

/// A student at work.
pub(super) struct Pupil {
    name: String,
    bench: Workbench,
    exercise: Exercise,
    skill: Skill,
    chance: Chance,
    /// What is still to be done before the question is answered, the next one last.
    to_do: Vec<String>,
    readied: Option<Question>,
    has_set: bool,
    /// The lowest reading of the circuit under test, in inHg.
    lowest: Option<f64>,
    verdict: Option<Verdict>,
}

thread_local! {
    static PREPARED: RefCell<Option<(Prepared, Vec<Circuit>)>> = const { RefCell::new(None) };
    /// What the session is called where it is not as usual.
    static SESSION: RefCell<Option<String>> = const { RefCell::new(None) };
}

/// Returns a shop in which an exercise waits for its attempt, and the circuits of its procedure.
pub(super) fn room(prepared: &Prepared) -> (Shopfront, Vec<Circuit>) {
    let shipped =
        SHIPPED.iter().find(|shipped| shipped.id == prepared.procedure).expect("a shipped procedure");
    let program = Program::compile(shipped.source().expect("its text")).expect("a sound script");
    let outline = program.outline().expect("an outline");
    assert_eq!(prepared.fault(outline), None, "{}", prepared.exercise.name);
    let circuits = outline.circuits.clone();
    PREPARED.set(Some((prepared.clone(), circuits.clone())));
    let mut front = Shopfront::of(program);
    front.unusual = |opening| {
        PREPARED.with_borrow(|prepared| {
            let Some((prepared, circuits)) = prepared else { return };
            opening.mode = crate::record::Mode::Practice;
            opening.plan = prepared.plan(&worth_testing(prepared, circuits), circuits);
            opening.exercise = Some(Box::new(prepared.exercise.clone()));
        });
        if let Some(session) = SESSION.take() {
            opening.session = session;
        }
    };
    (front, circuits)
}

fn worth_testing(prepared: &Prepared, circuits: &[Circuit]) -> Vec<String> {
    let exercise = &prepared.exercise;
    if exercise.complaint.is_none() {
        return Vec::new();
    }
    let plan = exercise.sought(circuits).expect("a complaint that something covers");
    plan.circuits.into_iter().map(|planned| planned.circuit).collect()
}

/// Has a student work at an exercise to its end.
pub(crate) fn attempt(prepared: &Prepared, skill: Skill, number: u64) -> (Record, Vec<u8>) {
    let (front, circuits) = room(prepared);
    let pupil = Pupil::new(&prepared.exercise, &circuits, skill, number);
    match front.walk_with(Box::new(pupil)).expect("a session") {
        Ended::Finished(record, path) => (*record, std::fs::read(path).expect("the record")),
        other => panic!("{}: {other:?}", prepared.exercise.name),
    }
}

/// Has a student of this name work at an exercise to its end, in a session of this name; returns the record's bytes.
pub(super) fn handed_in(student: &str, session: &str, prepared: &Prepared, skill: Skill) -> Vec<u8> {
    let (front, circuits) = room(prepared);
    std::fs::create_dir(front.shop.session(session)).expect("a folder");
    SESSION.set(Some(session.to_owned()));
    let pupil = Pupil { name: student.to_owned(), ..Pupil::new(&prepared.exercise, &circuits, skill, 1) };
    match front.walk_with(Box::new(pupil)).expect("a session") {
        Ended::Finished(_, path) => std::fs::read(path).expect("the record"),
        other => panic!("{}: {other:?}", prepared.exercise.name),
    }
}

impl Pupil {
    pub(super) fn new(exercise: &Exercise, circuits: &[Circuit], skill: Skill, number: u64) -> Pupil {
        Pupil {
            name: "Ada".to_owned(),
            bench: Workbench::new(exercise, circuits),
            exercise: exercise.clone(),
            skill,
            chance: Chance::new(number ^ exercise.seed.rotate_left(20)),
            to_do: Vec::new(),
            readied: None,
            has_set: false,
            lowest: None,
            verdict: None,
        }
    }

    /// Puts the student at a bench that somebody has worked at.
    pub(super) fn comes_back_to(&mut self, bench: Workbench) {
        self.bench = bench;
    }

    fn is_hasty(&mut self) -> bool {
        self.chance.share() < self.skill.haste
    }

    fn guesses(&mut self) -> bool {
        self.chance.share() < self.skill.guesses
    }

    /// What is to be done before a question is answered, in order.
    fn doings(&mut self, question: &Question) -> Vec<String> {
        let Wants::Reading { on, .. } = &question.wants else { return Vec::new() };
        let point = |condition: Condition| {
            if condition == Condition::Through { vec!["orifice".to_owned()] } else { vec!["plug".to_owned()] }
        };
        match on {
            HoseOn::Rig(step) => {
                let mut doings = point(step.condition());
                let is_wrong = self.exercise.defects.iter().any(|defect| defect.cause == Cause::WrongOrifice);
                let is_first = !std::mem::replace(&mut self.has_set, true);
                if is_wrong && is_first && !self.is_hasty() {
                    doings.insert(0, "swap".to_owned());
                }
                if let RigStep::ToStop { valve, stop, .. } = step {
                    let name = if *valve == Valve::Inlet { "inlet" } else { "bleed" };
                    let way = if *stop == ValveStop::Open { "open" } else { "close" };
                    doings.push(format!("{name} {way} all"));
                }
                doings
            }
            HoseOn::Check(condition) => point(*condition),
            HoseOn::Circuit { label, trial, .. } => {
                let mut doings = Vec::new();
                if !self.is_hasty() {
                    doings.push("wipe".to_owned());
                }
                doings.push("seat".to_owned());
                let wants_pad = *trial && label.as_ref().is_some_and(|label| label.contains("block"));
                if wants_pad && !self.is_hasty() {
                    doings.push("block".to_owned());
                }
                if !self.is_hasty() {
                    doings.push("wait 60".to_owned());
                }
                doings
            }
        }
    }

    /// Finds by how many turns the valve is to be turned for the needle to come where it is wanted, as an eye sees it.
    fn turn(&mut self, question: &Question, step: RigStep) -> Option<String> {
        let RigStep::Set(setting) = step else { return None };
        let wanted = setting.set_to_pa.si() + self.misread();
        let name = if setting.valve == Valve::Inlet { "inlet" } else { "bleed" };
        let doing =
            |turns: f64| format!("{name} {} {:.4}", if turns < 0.0 { "close" } else { "open" }, turns.abs());
        let shown = |turns: f64| {
            let mut trial = self.bench.clone();
            trial.take(&did(question, doing(turns)));
            trial.needle().si()
        };
        let (mut near, mut far) = (0.001, if setting.turn == ValveTurn::Open { 8.0 } else { -8.0 });
        let begins = shown(near) < wanted;
        for _ in 0..24 {
            let middle = f64::midpoint(near, far);
            if (shown(middle) < wanted) == begins { near = middle } else { far = middle }
        }
        Some(doing(near)).filter(|_| near.abs() > 0.002)
    }

    fn misread(&mut self) -> f64 {
        self.chance.within(self.skill.eye) * RigParts::USUAL.dial.smallest_division().si()
    }

    fn typed(&mut self, question: &Question, place: &Place) -> String {
        let settings = self.bench.settings().clone();
        match &question.wants {
            Wants::Technician => self.name.clone(),
            Wants::Barometer => format!("{} Pa", settings.barometer.si()),
            Wants::AirTemperature => format!("{:.1} C", settings.temperature.si() - 273.15),
            Wants::Reading { on, deepest_pa, .. } => {
                let seen =
                    (self.bench.needle().si() + self.misread()).clamp(0.0, *deepest_pa) / INCH_OF_MERCURY;
                let read = format!("{seen:.3}");
                if let HoseOn::Circuit { trial: false, .. } = on {
                    self.lowest = Some(self.lowest.map_or(seen, |lowest| lowest.min(seen)));
                }
                read
            }
            Wants::Choice { options } => match (question.words.as_str(), &place.circuit) {
                (VERDICT | SURE | CAUSE | PLACE | REPAIR, Some(circuit)) => {
                    self.commits(question, options, circuit)
                }
                _ => Mood::Sound.typed(question, place),
            },
            _ => Mood::Sound.typed(question, place),
        }
    }

    fn commits(&mut self, question: &Question, options: &[String], circuit: &Circuit) -> String {
        if self.guesses() && self.skill.always.is_none() {
            let guess = options
                [((self.chance.share() * options.len() as f64) as usize).min(options.len() - 1)]
            .clone();
            if question.words == VERDICT {
                self.verdict = Verdict::ALL.into_iter().find(|verdict| verdict.word() == guess);
                self.lowest = None;
            }
            return guess;
        }
        let defect =
            self.exercise.defects.iter().find(|defect| {
                defect.cause.is_of_circuit() && defect.circuit.as_ref() == Some(&circuit.name)
            });
        match question.words.as_str() {
            VERDICT => {
                let limits = circuit.limits.expect("limits");
                let [below, between, above] = limits.verdicts();
                let (low, high) = (limits.lower().si(), limits.upper().si());
                let read = self.lowest.take().unwrap_or(0.0) * INCH_OF_MERCURY;
                // Limits are standard readings; thin air moves them with the barometer.
                let read = read * 101_325.0 / self.bench.settings().barometer.si();
                let judged = if read >= high {
                    above
                } else if read <= low {
                    below
                } else {
                    between
                };
                let sound = if limits.is_window() { between } else { above };
                let verdict = match self.skill.always {
                    Some(true) => sound,
                    Some(false) => below,
                    None => judged,
                };
                self.verdict = Some(verdict);
                verdict.word().to_owned()
            }
            SURE => SURENESS[5].0.to_owned(),
            CAUSE => defect.map_or(Cause::WornLand, |defect| defect.cause).words().to_owned(),
            PLACE => {
                defect.and_then(|defect| defect.reading.clone()).unwrap_or_else(|| EVERYWHERE.to_owned())
            }
            _ => match defect {
                Some(defect) => right_repair(defect.cause, circuit),
                None => repairs(circuit)[0].clone(),
            },
        }
    }
}

fn did(question: &Question, doing: String) -> What {
    let on = match &question.wants {
        Wants::Reading { on, .. } => Some(on.clone()),
        _ => None,
    };
    What::Did { circuit: question.circuit.clone(), on, doing }
}

impl Desk for Pupil {
    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        self.bench.stand_at(question);
        if self.readied.as_ref() != Some(question) {
            self.to_do = self.doings(question);
            self.to_do.reverse();
            if let Wants::Reading { on: HoseOn::Rig(RigStep::Set(_)), .. } = &question.wants {
                self.to_do.insert(0, "TURN".to_owned());
            }
            self.readied = Some(question.clone());
        }
        while let Some(doing) = self.to_do.pop() {
            let doing = match (&question.wants, doing.as_str()) {
                (Wants::Reading { on: HoseOn::Rig(step), .. }, "TURN") => self.turn(question, *step),
                _ => Some(doing),
            };
            if let Some(doing) = doing {
                self.bench.take(&did(question, doing.clone()));
                return Err(Aside::Did(doing));
            }
        }
        let typed = self.typed(question, place);
        Ok(question.read(&typed).unwrap_or_else(|refusal| panic!("{typed} to {question:?}: {refusal}")))
    }
}
