use std::cell::RefCell;
use std::rc::Rc;

use super::form::{Gatherer, Item};
use super::kind::{Kind, kinds};
use super::ladder::Ladder;
use super::notebook::Notebook;
use super::prose::Prose;
use super::report::Line;
use crate::procedure::{Aside, Desk, Duty, Place, Shown, Trail};
use crate::quantity::{INCH_OF_MERCURY, Pressure};
use crate::record::{Answer, Asker, HoseOn, Question, RigStep, Told, Wants};
use crate::rig::simulated::{Load, Settings, SimulatedRig};
use crate::rig::{Condition, STANDARD_PLUGGED, STANDARD_THROUGH};
use crate::session::{CHECKS, Saying, read_saying};

/// Everything that outlives a walk.
pub(super) struct Mind {
    pub(super) notebook: Notebook,
    pub(super) prose: Prose,
    /// What a form is made of, where one is wanted.
    pub(super) form: Option<Gatherer>,
    pub(super) ladder: Ladder,
    trail: Trail,
}

impl Mind {
    pub(super) fn new(trail: Trail, ladder: Ladder) -> Mind {
        Mind { notebook: Notebook::default(), prose: Prose::default(), form: None, ladder, trail }
    }
}

/// The desk that tries every kind of answer.
pub(super) struct Explorer {
    mind: Rc<RefCell<Mind>>,
    /// The kind of reading that is being taken again after seating.
    series: Option<Kind>,
    /// Readings of circuits since the rig was last looked at.
    n_readings: u32,
    /// A rig with valves to turn, where the procedure proves the rig itself; else one that stands exactly on its points.
    rig: Option<SimulatedRig>,
}

impl Explorer {
    pub(super) fn new(mind: Rc<RefCell<Mind>>, proves_rig: bool) -> Explorer {
        let rig = proves_rig.then(|| SimulatedRig::new(1, Settings::default()));
        Explorer { mind, series: None, n_readings: 0, rig }
    }

    /// Says what would be typed, and what kind of answer that is to a question of the procedure's.
    fn say(&mut self, question: &Question, place: &Place) -> (Option<Kind>, String) {
        if question.asker == Asker::Runner {
            return (None, self.say_to_runner(question));
        }
        let mind = &mut *self.mind.borrow_mut();
        let kinds = kinds(question, place, &mut mind.ladder);
        let is_reading = matches!(question.wants, Wants::Reading { .. });
        let kind = match self.series.filter(|_| is_reading) {
            Some(kind) => kind,
            None => {
                let scope = (
                    question.circuit.clone(),
                    question.circuit.is_none().then(|| place.section.clone()).flatten(),
                );
                let asked =
                    (scope, question.wants.kind(), question.words.clone(), question.occurrence.min(3));
                let only: Vec<_> = kinds.iter().map(|(kind, _)| *kind).collect();
                mind.notebook.choose(asked, &only)
            }
        };
        if is_reading {
            self.series = Some(kind).filter(|kind| *kind != Kind::Cannot);
            let is_trial =
                matches!(question.wants, Wants::Reading { on: HoseOn::Circuit { trial: true, .. }, .. });
            mind.prose.read(&question.words, kind, is_trial);
            self.n_readings += 1;
        }
        let typed = kinds.into_iter().find(|(known, _)| *known == kind).map(|(_, typed)| typed);
        (Some(kind), typed.unwrap_or_default())
    }

    /// Gives the one answer that there is to what the runner asks.
    fn say_to_runner(&mut self, question: &Question) -> String {
        // A dial that reads a shade too much must not show more than can be.
        let deepest = question.deepest().map_or(f64::MAX, |deepest| deepest.si());
        let shown = |pressure: Pressure| {
            let places = 1e4 / INCH_OF_MERCURY;
            let rounded = (pressure.si().min(deepest) * places).round();
            let fitting = if rounded > deepest * places { (deepest * places).floor() } else { rounded };
            format!("{} inHg", fitting / 1e4)
        };
        match &question.wants {
            Wants::Technician => "proofread".to_owned(),
            Wants::Barometer => "101.325 kPa".to_owned(),
            Wants::Decision { .. } | Wants::Choice { .. } => "1".to_owned(),
            Wants::Reading { on: HoseOn::Rig { step }, .. } => {
                self.n_readings = 0;
                match (&mut self.rig, step) {
                    (Some(rig), _) => {
                        rig.carry_out(&step.as_step()).map_or(String::new(), |seen| shown(seen.reading))
                    }
                    (None, RigStep::Set { setting }) => shown(setting.set_to_pa),
                    (None, _) => shown(exact(step.condition())),
                }
            }
            Wants::Reading { on: HoseOn::Check { condition }, .. } => {
                self.n_readings = 0;
                match &mut self.rig {
                    Some(rig) => {
                        rig.connect(Load::of(*condition));
                        shown(rig.read())
                    }
                    None => shown(exact(*condition)),
                }
            }
            _ => "done".to_owned(),
        }
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

impl Desk for Explorer {
    fn tell(&mut self, told: &Told) {
        if let Told::Began { .. } | Told::Ended { .. } = told {
            // What was being read before may have been left.
            self.series = None;
        }
        let mind = &mut *self.mind.borrow_mut();
        mind.prose.told(told, mind.trail.here());
        if let Some(form) = &mut mind.form {
            let circuits = |name: &str| mind.prose.circuits.get(name).map(|(_, circuit)| circuit.clone());
            if let Some(item) = Item::told(told, circuits) {
                form.add_told(item, mind.prose.under_test(), mind.trail.here().as_ref());
            }
        }
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        let is_again = self.series.is_some();
        let (kind, typed) = self.say(question, place);
        let mind = &mut *self.mind.borrow_mut();
        if let Some(form) = &mut mind.form {
            if let Some(item) = Item::asked(question, place).filter(|_| !is_again) {
                form.add(item, question.circuit.clone(), kind, mind.trail.here().as_ref());
            }
            if kind == Some(Kind::Cannot) {
                form.leave(question.circuit.clone());
            }
        }
        mind.prose.asked(question, mind.trail.here());
        mind.notebook.n_answers += 1;
        mind.notebook.lines.push(Line { asked: question.words.clone(), typed: typed.clone() });
        match read_saying(&typed) {
            Saying::Cannot(reason) => Ok(Answer::Unable { reason }),
            _ => question.read(&typed).map_err(|refusal| Aside::Lost(refusal.to_string())),
        }
    }

    fn duty(&mut self, before: Option<&str>) -> Duty {
        let is_due = self.n_readings > 0 && (before.is_none() || self.n_readings >= CHECKS.readings);
        if is_due { Duty::Check } else { Duty::None }
    }

    fn show(&mut self, shown: &Shown<'_>) {
        if let Shown::Judged { more, .. } = shown
            && !more
        {
            self.series = None;
        }
    }
}
