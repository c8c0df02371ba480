use std::cell::RefCell;
use std::rc::Rc;

use super::Step;
use crate::procedure::{Aside, Desk, Place, RESEAT, Shown, Site, Trail};
use crate::quantity::INCH_OF_MERCURY;
use crate::record::{Answer, Asker, Circuit, HoseOn, Question, Told, Wants};

/// What a walk through a procedure came by where all is sound.
#[derive(Debug, Default)]
pub(super) struct Notes {
    /// The circuits that were described, with where that stands.
    pub(super) described: Vec<(Circuit, Option<Site>)>,
    /// The circuits that were tested, in order.
    pub(super) tested: Vec<Tested>,
    /// The cautions outside of tests, with where they stand.
    pub(super) cautions: Vec<(String, Option<Site>)>,
    section: Option<String>,
    is_open: bool,
    is_again: bool,
}

/// A circuit that was tested, with what its test asked.
#[derive(Debug)]
pub(super) struct Tested {
    /// The circuit.
    pub(super) circuit: Circuit,
    /// Where it is described.
    pub(super) described_at: Option<Site>,
    /// Where its test stands.
    pub(super) tested_at: Option<Site>,
    /// The section.
    pub(super) section: Option<String>,
    /// Its steps, with where they stand.
    pub(super) steps: Vec<(Step, Option<Site>)>,
}

impl Notes {
    fn note(&mut self, step: Step, site: Option<Site>) {
        if let (true, Some(tested)) = (self.is_open, self.tested.last_mut()) {
            tested.steps.push((step, site));
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

/// A desk that finds everything sound and notes what it is told and asked, and where that stands.
pub(super) struct Taker {
    /// What it notes.
    pub(super) notes: Rc<RefCell<Notes>>,
    /// Where the walk stands.
    pub(super) trail: Trail,
}

impl Desk for Taker {
    fn tell(&mut self, told: &Told) {
        let notes = &mut *self.notes.borrow_mut();
        let here = self.trail.here();
        match told {
            Told::Section { title } => notes.section = Some(title.clone()),
            Told::Said { text } => notes.note(Step::Say(text.clone()), here),
            Told::Described { circuit } => notes.described.push(((**circuit).clone(), here)),
            Told::Began { circuit } => {
                let known = notes.described.iter().find(|(known, _)| known.name == *circuit).cloned();
                if let Some((circuit, described_at)) = known {
                    let section = notes.section.clone();
                    notes.tested.push(Tested {
                        circuit,
                        described_at,
                        tested_at: here,
                        section,
                        steps: Vec::new(),
                    });
                    notes.is_open = true;
                }
            }
            Told::Ended { .. } => notes.is_open = false,
            Told::Found { .. } => {}
        }
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        if question.asker == Asker::Procedure {
            let notes = &mut *self.notes.borrow_mut();
            let here = self.trail.here();
            match notes.step(question) {
                Some(Step::Caution(words)) if !notes.is_open => notes.cautions.push((words, here)),
                Some(step) => notes.note(step, here),
                None => {}
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
