use std::cell::RefCell;
use std::collections::HashSet;
use std::rc::Rc;

use crate::leak::OilState;
use crate::procedure::{Aside, Desk, Fault, Place, Program, Shown, Stop, Title, Walk};
use crate::quantity::{INCH_OF_MERCURY, UNITS, Unit};
use crate::record::{Answer, Asker, BenchState, Circuit, Question, Told, Wants};

/// What a procedure does, as far as a few straight walks through it show.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// What it declares itself to be.
    pub title: Title,
    /// The circuits that it describes; each name once.
    pub circuits: Vec<Circuit>,
    /// What else circuits of these names are described as, where other answers lead to other limits or texts.
    pub variants: Vec<Circuit>,
    /// The limits of what it has measured, in the order met.
    pub measurements: Vec<Measurement>,
    /// What it says and asks, in the order met; each once.
    pub steps: Vec<Step>,
    /// Every caution, also those that no walk came by.
    pub cautions: Vec<String>,
}

/// The limits of a value that a procedure has measured.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Measurement {
    /// The circuit under test.
    pub circuit: Option<String>,
    /// The question's words.
    pub words: String,
    /// What lies within, as `12.7 mm to 12.8 mm`.
    pub within: String,
}

/// Something that a procedure says or asks.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Step {
    /// The circuit under test.
    pub circuit: Option<String>,
    /// What kind of step it is.
    pub kind: StepKind,
    /// Its words.
    pub words: String,
}

/// What kind of step something is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum StepKind {
    /// A warning that must be acknowledged.
    Caution,
    /// Something to do.
    Do,
    /// A question.
    Ask,
    /// A reading.
    Read,
    /// Something that is said.
    Say,
    /// A conclusion.
    Find,
}

/// How a walk finds everything.
#[derive(Debug, Clone, Copy)]
enum Mood {
    Sound,
    Worn,
    Leaking,
}

impl Outline {
    /// Walks a procedure three times, with everything sound, worn and leaking, and notes what comes.
    ///
    /// # Errors
    /// A fault where it makes a mistake while everything is sound.
    pub fn of(program: &Program) -> Result<Outline, Fault> {
        let title = program.title()?;
        let notes = Rc::new(RefCell::new(Notes::default()));
        for mood in [Mood::Sound, Mood::Worn, Mood::Leaking] {
            let stopped = walk(program, title.oil, mood, &notes);
            match (mood, stopped) {
                (Mood::Sound, Some(Stop::Broken(fault))) => return Err(*fault),
                // A script that loops without end need not do it again.
                (_, Some(Stop::Broken(_))) => break,
                _ => {}
            }
        }
        let Notes { circuits, variants, measurements, steps, .. } = notes.take();
        let mut cautions = program.texts_of("caution");
        for step in steps.iter().filter(|step| step.kind == StepKind::Caution) {
            if !cautions.contains(&step.words) {
                cautions.push(step.words.clone());
            }
        }
        Ok(Outline { title, circuits, variants, measurements, steps, cautions })
    }
}

fn walk(program: &Program, oil: Option<OilState>, mood: Mood, notes: &Rc<RefCell<Notes>>) -> Option<Stop> {
    notes.borrow_mut().under_test = None;
    let desk = Box::new(Collector { mood, notes: Rc::clone(notes) });
    let walk = Walk::new(desk, BenchState::exact(oil), &UNITS[0]).setting_the_rig_by(|_| Ok(()));
    program.run(walk).err()
}

#[derive(Default)]
struct Notes {
    circuits: Vec<Circuit>,
    variants: Vec<Circuit>,
    measurements: Vec<Measurement>,
    steps: Vec<Step>,
    met: HashSet<Step>,
    under_test: Option<String>,
}

impl Notes {
    fn describe(&mut self, circuit: &Circuit) {
        if self.circuits.iter().all(|known| known.name != circuit.name) {
            self.circuits.push(circuit.clone());
        } else if !self.circuits.contains(circuit) && !self.variants.contains(circuit) {
            self.variants.push(circuit.clone());
        }
    }

    fn measure(&mut self, question: &Question) {
        let Wants::Number { low, high, .. } = &question.wants else { return };
        let text = |si: f64| in_unit(si, question.unit());
        let within = match (low, high) {
            (None, None) => return,
            (Some(low), None) => format!("{} and more", text(*low)),
            (None, Some(high)) => format!("{} and less", text(*high)),
            (Some(low), Some(high)) => format!("{} to {}", text(*low), text(*high)),
        };
        let measurement =
            Measurement { circuit: self.under_test.clone(), words: question.words.clone(), within };
        if !self.measurements.contains(&measurement) {
            self.measurements.push(measurement);
        }
    }

    fn note(&mut self, kind: StepKind, words: &str) {
        let step = Step { circuit: self.under_test.clone(), kind, words: words.to_owned() };
        if self.met.insert(step.clone()) {
            self.steps.push(step);
        }
    }
}

/// A desk that answers everything in its mood and notes what it is told and asked.
struct Collector {
    mood: Mood,
    notes: Rc<RefCell<Notes>>,
}

impl Collector {
    /// Says what would be typed.
    fn say(&self, question: &Question, place: &Place) -> String {
        match &question.wants {
            Wants::Acknowledgement => "ok".to_owned(),
            Wants::Yes => if matches!(self.mood, Mood::Leaking) { "no" } else { "yes" }.to_owned(),
            Wants::Choice { options } | Wants::Decision { options, .. } => match self.mood {
                Mood::Sound => "1".to_owned(),
                Mood::Worn => options.len().div_ceil(2).to_string(),
                Mood::Leaking => options.len().to_string(),
            },
            Wants::Text | Wants::Technician => "as it should be".to_owned(),
            Wants::Number { low, high, .. } => in_unit(self.number(*low, *high), question.unit()),
            Wants::Barometer => "101325 Pa".to_owned(),
            Wants::Reading { .. } => format!("{} Pa", self.reading(place)),
            Wants::Ready | Wants::Wait { .. } => "done".to_owned(),
        }
    }

    fn number(&self, low: Option<f64>, high: Option<f64>) -> f64 {
        match (self.mood, low, high) {
            (Mood::Sound, Some(low), Some(high)) => f64::midpoint(low, high),
            (Mood::Sound | Mood::Leaking, Some(low), None) | (Mood::Worn, Some(low), _) => low * 0.9,
            (Mood::Sound | Mood::Worn, None, Some(high)) | (Mood::Leaking, _, Some(high)) => high * 1.1,
            (_, None, None) => 1.0,
        }
    }

    /// A reading on a bench that stands exactly on its points is a standard reading.
    fn reading(&self, place: &Place) -> f64 {
        let Some(limits) = place.circuit.as_ref().and_then(|circuit| circuit.limits) else {
            return 20.0 * INCH_OF_MERCURY;
        };
        let (holds, leaks) = (limits.holds().si(), limits.leaks().si());
        match self.mood {
            Mood::Sound => f64::midpoint(holds, 25.0 * INCH_OF_MERCURY),
            Mood::Worn => f64::midpoint(holds, leaks),
            Mood::Leaking => leaks / 2.0,
        }
    }
}

fn in_unit(si: f64, unit: Option<&Unit>) -> String {
    unit.map_or("1".to_owned(), |unit| format!("{} {}", unit.from_si(si), unit.symbol))
}

impl Desk for Collector {
    fn tell(&mut self, told: &Told) {
        let notes = &mut *self.notes.borrow_mut();
        match told {
            Told::Section { .. } => {}
            Told::Said { text } => notes.note(StepKind::Say, text),
            Told::Found { text, .. } => notes.note(StepKind::Find, text),
            Told::Described { circuit } => notes.describe(circuit),
            Told::Began { circuit } => notes.under_test = Some(circuit.clone()),
            Told::Ended { .. } => notes.under_test = None,
        }
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        let kind = match question.wants {
            Wants::Acknowledgement => StepKind::Caution,
            Wants::Ready | Wants::Wait { .. } => StepKind::Do,
            Wants::Reading { .. } => StepKind::Read,
            _ => StepKind::Ask,
        };
        if question.asker == Asker::Procedure {
            let notes = &mut *self.notes.borrow_mut();
            notes.note(kind, &question.words);
            notes.measure(question);
        }
        question.read(&self.say(question, place)).map_err(|refusal| Aside::Lost(refusal.to_string()))
    }

    fn show(&mut self, _: &Shown<'_>) {}
}
