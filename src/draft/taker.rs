use super::Step;
use crate::procedure::{Met, RESEAT, Site};
use crate::record::{Circuit, HoseOn, Question, Told, Wants};

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
    /// Notes what a walk came by where all was sound, and where that stands.
    pub(super) fn of(sound: &[Met]) -> Notes {
        let mut notes = Notes::default();
        for met in sound {
            match met {
                Met::Told(told, site) => notes.told(told, site.clone()),
                Met::Asked(question, site) => match notes.step(question) {
                    Some(Step::Caution(words)) if !notes.is_open => {
                        notes.cautions.push((words, site.clone()))
                    }
                    Some(step) => notes.note(step, site.clone()),
                    None => {}
                },
            }
        }
        notes
    }

    fn told(&mut self, told: &Told, here: Option<Site>) {
        match told {
            Told::Section { title } => self.section = Some(title.clone()),
            Told::Said { text } => self.note(Step::Say(text.clone()), here),
            Told::Described { circuit } => self.described.push(((**circuit).clone(), here)),
            Told::Began { circuit } => {
                let known = self.described.iter().find(|(known, _)| known.name == *circuit).cloned();
                if let Some((circuit, described_at)) = known {
                    let section = self.section.clone();
                    let steps = Vec::new();
                    self.tested.push(Tested { circuit, described_at, tested_at: here, section, steps });
                    self.is_open = true;
                }
            }
            Told::Ended { .. } => self.is_open = false,
            Told::Found { .. } => {}
        }
    }

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
