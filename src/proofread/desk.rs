use std::cell::RefCell;
use std::rc::Rc;

use super::gather::{Gatherer, Item};
use super::kind::{AnswerKind, CANNOT, Ladder, kinds};
use super::notebook::Notebook;
use super::prose::Prose;
use super::report::Typing;
use crate::procedure::{Aside, Desk, Duty, Mood, Place, Shown, Trail};
use crate::quantity::{INCH_OF_MERCURY, Pressure};
use crate::record::{Answer, Asker, HoseOn, Question, RigStep, Told, Wants};
use crate::rig::simulated::{Load, Settings, SimulatedRig};
use crate::rig::{Condition, STANDARD_PLUGGED, STANDARD_THROUGH};
use crate::session::CHECKS;

/// Everything that outlives a walk.
pub(super) struct Mind {
    pub(super) notebook: Notebook,
    pub(super) prose: Prose,
    /// What a form is made of, where one is wanted.
    pub(super) form: Option<Gatherer>,
    pub(super) ladder: Ladder,
    pub(super) trail: Trail,
}

/// The desk that tries every kind of answer.
pub(super) struct EveryAnswer {
    mind: Rc<RefCell<Mind>>,
    /// The kind of reading that is being taken again after seating.
    series: Option<AnswerKind>,
    /// Readings of circuits since the rig was last looked at.
    n_readings: u32,
    /// A rig with valves to turn, where the procedure proves the rig itself; else one that stands exactly on its points.
    rig: Option<SimulatedRig>,
}

impl EveryAnswer {
    pub(super) fn new(mind: Rc<RefCell<Mind>>, proves_rig: bool) -> EveryAnswer {
        let rig = proves_rig.then(|| SimulatedRig::new(1, Settings::default()));
        EveryAnswer { mind, series: None, n_readings: 0, rig }
    }

    /// Says what would be typed, and what kind of answer that is to a question of the procedure's.
    fn say(&mut self, question: &Question, place: &Place) -> (Option<AnswerKind>, String) {
        if question.asker == Asker::Runner {
            return (None, self.say_to_runner(question, place));
        }
        let mind = &mut *self.mind.borrow_mut();
        let kinds = kinds(question, place, &mut mind.ladder);
        let is_reading = matches!(question.wants, Wants::Reading { .. });
        let kind = self.series.filter(|_| is_reading).unwrap_or_else(|| {
            let section = question.circuit.is_none().then(|| place.section.clone()).flatten();
            let scope = (question.circuit.clone(), section);
            let asked = (scope, question.wants.kind(), question.words.clone(), question.occurrence.min(3));
            let only: Vec<_> = kinds.iter().map(|(kind, _)| *kind).collect();
            mind.notebook.choose(asked, &only)
        });
        if is_reading {
            self.series = Some(kind).filter(|kind| *kind != AnswerKind::Cannot);
            let is_trial =
                matches!(question.wants, Wants::Reading { on: HoseOn::Circuit { trial: true, .. }, .. });
            mind.prose.read(&question.words, kind, is_trial);
            self.n_readings += 1;
        }
        let typed = kinds.into_iter().find(|(known, _)| *known == kind).map(|(_, typed)| typed);
        (Some(kind), typed.unwrap_or_default())
    }

    /// Gives the one answer that there is to what the runner asks.
    fn say_to_runner(&mut self, question: &Question, place: &Place) -> String {
        let Wants::Reading { on, .. } = &question.wants else {
            return match question.wants {
                Wants::Technician => "proofread".to_owned(),
                _ => Mood::Sound.typed(question, place),
            };
        };
        self.n_readings = 0;
        let seen = match (&mut self.rig, on) {
            (Some(rig), HoseOn::Rig { step }) => rig.carry_out(&step.as_step()).map(|seen| seen.reading),
            (Some(rig), HoseOn::Check { condition }) => {
                rig.connect(Load::of(*condition));
                Some(rig.read())
            }
            (None, HoseOn::Rig { step: RigStep::Set { setting } }) => Some(setting.set_to_pa),
            (None, HoseOn::Rig { step }) => Some(exact(step.condition())),
            (None, HoseOn::Check { condition }) => Some(exact(*condition)),
            (_, HoseOn::Circuit { .. }) => None,
        };
        // A dial that reads a shade too much must not show more than can be.
        let deepest = question.deepest().map_or(f64::MAX, |deepest| deepest.si());
        let places = 1e4 / INCH_OF_MERCURY;
        let shown = |seen: Pressure| {
            let rounded = (seen.si().min(deepest) * places).round();
            let fitting = if rounded > deepest * places { (deepest * places).floor() } else { rounded };
            format!("{} inHg", fitting / 1e4)
        };
        seen.map(shown).unwrap_or_default()
    }
}

/// Returns what an exact rig shows at one of its points.
fn exact(condition: Condition) -> Pressure {
    match condition {
        Condition::Plugged | Condition::OtherPlug | Condition::Capped => STANDARD_PLUGGED,
        Condition::Through => STANDARD_THROUGH,
        Condition::Open => Pressure::constant(0.0),
    }
}

impl Desk for EveryAnswer {
    fn tell(&mut self, told: &Told) {
        if let Told::Began { .. } | Told::Ended { .. } = told {
            // What was being read before may have been left.
            self.series = None;
        }
        let mind = &mut *self.mind.borrow_mut();
        let here = mind.trail.here();
        mind.prose.told(told, here.clone());
        if let Some(form) = &mut mind.form {
            let circuits = |name: &str| mind.prose.circuits.get(name).map(|(_, circuit)| circuit.clone());
            if let Some(item) = Item::told(told, circuits) {
                form.add_told(item, mind.prose.under_test.clone(), here.as_ref());
            }
        }
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        let is_again = self.series.is_some();
        let (kind, typed) = self.say(question, place);
        let mind = &mut *self.mind.borrow_mut();
        let here = mind.trail.here();
        if let Some(form) = &mut mind.form {
            if let Some(item) = Item::asked(question).filter(|_| !is_again) {
                form.add(item, question.circuit.clone(), kind, here.as_ref());
            }
            if kind == Some(AnswerKind::Cannot) {
                form.leave(question.circuit.clone());
            }
        }
        mind.prose.asked(question, here);
        mind.notebook.n_answers += 1;
        mind.notebook.lines.push(Typing { asked: question.words.clone(), typed: typed.clone() });
        if kind == Some(AnswerKind::Cannot) {
            return Ok(Answer::Unable { reason: CANNOT.to_owned() });
        }
        question.read(&typed).map_err(|refusal| Aside::Lost(refusal.to_string()))
    }

    fn duty(&mut self, before: Option<&str>) -> Duty {
        let is_due = self.n_readings > 0 && (before.is_none() || self.n_readings >= CHECKS.readings);
        if is_due { Duty::Check } else { Duty::None }
    }

    fn show(&mut self, shown: &Shown<'_>) {
        if let Shown::Judged { more: false, .. } = shown {
            self.series = None;
        }
    }
}
