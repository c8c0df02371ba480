use std::cell::RefCell;
use std::rc::Rc;

use super::{Body, DraftCircuit, DraftLimits, Feature, Step};
use crate::procedure::{Aside, Desk, Diagnostic, Place, Program, RESEAT, Shown, Stop, Title, Walk};
use crate::quantity::{INCH_OF_MERCURY, UNITS};
use crate::record::{Answer, Asker, BenchState, Circuit, HoseOn, Question, Told, Wants};

/// Returns the circuits of a procedure, in the order it tests them where all is sound, with its steps there; where its texts
/// name its unit, they name the new one.
///
/// # Errors
/// A diagnostic where the procedure makes a mistake on that way.
pub fn earlier(program: &Program, unit: &str) -> Result<(Title, Vec<DraftCircuit>), Diagnostic> {
    let title = program.title()?;
    let notes = Rc::new(RefCell::new(Notes::default()));
    let desk = Box::new(Taker(Rc::clone(&notes)));
    let walk = Walk::new(desk, BenchState::exact(title.oil), &UNITS[0]).setting_the_rig_by(|_| Ok(()));
    if let Err(Stop::Broken(fault)) = program.run(walk) {
        return Err(*fault);
    }
    let renamed = |text: &str| match &title.unit {
        Some(old) if !old.trim().is_empty() => text.replace(old.as_str(), unit),
        _ => text.to_owned(),
    };
    let circuits = notes.take().tested.into_iter().map(|tested| draft(tested, &renamed)).collect();
    Ok((title, circuits))
}

fn draft(Tested { circuit, section, steps }: Tested, renamed: &impl Fn(&str) -> String) -> DraftCircuit {
    let steps = steps.into_iter().map(|step| match step {
        Step::Ready(words) => Step::Ready(renamed(&words)),
        Step::Caution(words) => Step::Caution(renamed(&words)),
        Step::Say(words) => Step::Say(renamed(&words)),
        Step::Wait(seconds, words) => Step::Wait(seconds, renamed(&words)),
        Step::Read(label) => Step::Read(label),
    });
    DraftCircuit {
        section: section.as_deref().map(renamed),
        port: circuit.port,
        body: Body::Taken(steps.collect()),
        set_up: circuit.set_up.as_deref().map(renamed),
        means: circuit.means.as_deref().map(renamed),
        limits: circuit.limits.map_or(DraftLimits::ToBeFound, |limits| DraftLimits::Known(limits, &UNITS[0])),
        land: circuit.land,
        symptoms: circuit.symptoms,
        repairs: circuit.repairs,
        ..DraftCircuit::new(renamed(&circuit.name), Feature::Other)
    }
}

#[derive(Default)]
struct Notes {
    described: Vec<Circuit>,
    section: Option<String>,
    tested: Vec<Tested>,
    is_open: bool,
    is_again: bool,
}

/// A circuit that was tested, with what its test asked.
struct Tested {
    circuit: Circuit,
    section: Option<String>,
    steps: Vec<Step>,
}

impl Notes {
    fn note(&mut self, step: Step) {
        if let (true, Some(tested)) = (self.is_open, self.tested.last_mut()) {
            tested.steps.push(step);
        }
    }

    /// Returns what a question is as a step; none of what is no step of its own.
    fn step(&mut self, question: &Question) -> Option<Step> {
        let words = question.words.clone();
        let is_again = std::mem::take(&mut self.is_again);
        match &question.wants {
            Wants::Acknowledgement => Some(Step::Caution(words)),
            Wants::Ready if words == RESEAT => {
                self.is_again = true;
                None
            }
            Wants::Ready => {
                let set_up = self.tested.last().and_then(|tested| tested.circuit.set_up.clone());
                (set_up != Some(words.clone())).then_some(Step::Ready(words))
            }
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a wait is short")]
            Wants::Wait { seconds } => Some(Step::Wait(seconds.ceil() as u64, words)),
            Wants::Reading { on: HoseOn::Circuit { label, trial: false }, .. } if !is_again => {
                Some(Step::Read(label.clone()))
            }
            _ => None,
        }
    }
}

/// A desk that finds everything sound and notes what it is told and asked.
struct Taker(Rc<RefCell<Notes>>);

impl Desk for Taker {
    fn tell(&mut self, told: &Told) {
        let notes = &mut *self.0.borrow_mut();
        match told {
            Told::Section { title } => notes.section = Some(title.clone()),
            Told::Said { text } => notes.note(Step::Say(text.clone())),
            Told::Described { circuit } => notes.described.push((**circuit).clone()),
            Told::Began { circuit } => {
                let known = notes.described.iter().find(|known| known.name == *circuit).cloned();
                if let Some(circuit) = known {
                    let section = notes.section.clone();
                    notes.tested.push(Tested { circuit, section, steps: Vec::new() });
                    notes.is_open = true;
                }
            }
            Told::Ended { .. } => notes.is_open = false,
            Told::Found { .. } => {}
        }
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        if question.asker == Asker::Procedure {
            let notes = &mut *self.0.borrow_mut();
            if let Some(step) = notes.step(question) {
                notes.note(step);
            }
        }
        let typed = match &question.wants {
            Wants::Acknowledgement => "ok".to_owned(),
            Wants::Yes => "yes".to_owned(),
            Wants::Choice { .. } | Wants::Decision { .. } => "1".to_owned(),
            Wants::Text | Wants::Technician => "draft".to_owned(),
            Wants::Barometer => "101325 Pa".to_owned(),
            Wants::Ready | Wants::Wait { .. } => "done".to_owned(),
            Wants::Number { low, high, .. } => match question.unit() {
                Some(unit) => format!("{} {}", unit.from_si(within(*low, *high)), unit.symbol),
                None => "1".to_owned(),
            },
            Wants::Reading { .. } => {
                let limits = place.circuit.as_ref().and_then(|circuit| circuit.limits);
                let holds = limits.map_or(20.0 * INCH_OF_MERCURY, |limits| limits.holds().si());
                format!("{} Pa", f64::midpoint(holds, 25.0 * INCH_OF_MERCURY))
            }
        };
        question.read(&typed).map_err(|refusal| Aside::Lost(refusal.to_string()))
    }

    fn show(&mut self, _: &Shown<'_>) {}
}

fn within(low: Option<f64>, high: Option<f64>) -> f64 {
    match (low, high) {
        (Some(low), Some(high)) => f64::midpoint(low, high),
        (Some(low), None) => low * 1.1,
        (None, Some(high)) => high * 0.9,
        (None, None) => 1.0,
    }
}
