use std::cell::RefCell;
use std::collections::{BTreeSet, HashMap};
use std::rc::Rc;

use super::blame::Blame;
use super::bundles::Bundles;
use super::cover::Wish;
use super::gather::{Gatherer, Item};
use super::kind::{AnswerKind, CANNOT, GIVEN, LEFT, Ladder, Possible, Values, kinds};
use super::prose::Prose;
use super::report::Typing;
use crate::air::STANDARD_PRESSURE;
use crate::procedure::{Aside, Desk, Duty, Mood, Place, Shown, Site, Trail};
use crate::quantity::{INCH_OF_MERCURY, Pressure};
use crate::record::{Answer, Asker, HoseOn, Question, RigStep, Told, Wants};
use crate::rig::simulated::{Load, Settings, SimulatedRig};
use crate::rig::{Condition, STANDARD_PLUGGED, STANDARD_THROUGH};
use crate::session::CHECKS;

/// Everything that outlives a walk.
pub(super) struct Mind {
    pub(super) bundles: Bundles,
    pub(super) values: Values,
    pub(super) prose: Prose,
    pub(super) blame: Blame,
    /// What a form is made of, where one is wanted.
    pub(super) form: Option<Gatherer>,
    pub(super) ladder: Ladder,
    pub(super) trail: Trail,
    /// The numbers of the calls of words, by where they stand.
    pub(super) calls: HashMap<Site, usize>,
    /// The calls whose answers are looked at as figures, and the one that asks for the barometer.
    pub(super) figures: BTreeSet<usize>,
    pub(super) barometer: Option<usize>,
    /// The calls of `test`.
    pub(super) tests: BTreeSet<usize>,
    pub(super) notes: Notes,
}

/// What one walk is to answer, and what it did.
#[derive(Debug, Default)]
pub(super) struct Notes {
    pub(super) wish: Wish,
    /// What is answered where nothing is wished for: the first of these kinds that there is, else the plainest.
    pub(super) mood: &'static [AnswerKind],
    /// The question behind each answer, and the kind given to it.
    pub(super) asked: Vec<Option<usize>>,
    pub(super) given: Wish,
    /// What was looked at besides what the script asked of answers.
    pub(super) looks: Vec<(usize, &'static str)>,
    pub(super) lines: Vec<Typing>,
    pub(super) times: HashMap<(usize, Option<String>), u32>,
}

/// The desk that tries kinds of answers.
pub(super) struct EveryAnswer {
    mind: Rc<RefCell<Mind>>,
    /// The question behind the reading that is being taken again after seating, and the kind given to it.
    series: Option<(usize, AnswerKind)>,
    /// Readings of circuits since the rig was last looked at.
    n_readings: u32,
    /// The barometer, as a share of the standard one; an exact rig reads in proportion.
    weight: f64,
    /// A rig with valves to turn, where the procedure proves the rig itself; else one that stands
    /// exactly on its points.
    rig: Option<SimulatedRig>,
}

impl Mind {
    /// Returns the number of a question of this walk, asked at the place in the script where it stands.
    fn question(&mut self, call: usize, circuit: Option<String>, kinds: &[Possible]) -> usize {
        let times = self.notes.times.entry((call, circuit.clone())).or_insert(0);
        let time = *times;
        *times += 1;
        self.bundles.question((call, circuit, time), kinds)
    }

    /// Takes note of whether a test was walked, as of an answer that comes before its first question.
    pub(super) fn began(&mut self, circuit: &str, site: Option<&Site>, is_left: bool) {
        let Some(call) = site.and_then(|site| self.calls.get(site)).copied() else { return };
        let kinds = [Possible::plain(AnswerKind::Done, ""), Possible::plain(AnswerKind::Cannot, "")];
        let question = self.question(call, Some(circuit.to_owned()), &kinds);
        let kind = if is_left { AnswerKind::Cannot } else { AnswerKind::Done };
        self.notes.given.insert(question, vec![kind]);
        self.notes.looks.push((question, LEFT));
    }
}

impl Notes {
    /// Returns everything that was looked at, by question, with what the script asked of answers.
    pub(super) fn looks_with(&self, of_answers: &[(usize, &'static str)]) -> Vec<(usize, &'static str)> {
        let asked = of_answers.iter().filter_map(|(nth, at)| Some(((*self.asked.get(*nth)?)?, *at)));
        self.looks.iter().copied().chain(asked).collect()
    }
}

impl EveryAnswer {
    pub(super) fn new(mind: Rc<RefCell<Mind>>, proves_rig: bool) -> EveryAnswer {
        let rig = proves_rig.then(|| SimulatedRig::new(1, Settings::default()));
        EveryAnswer { mind, series: None, n_readings: 0, weight: 1.0, rig }
    }

    /// Says what would be typed, and which question of the procedure's that answers with which kind.
    fn say(&mut self, question: &Question, place: &Place) -> (Option<(usize, AnswerKind)>, String) {
        let is_barometer = question.wants == Wants::Barometer && self.mind.borrow().barometer.is_some();
        if question.asker == Asker::Runner && !is_barometer {
            return (None, self.say_to_runner(question, place));
        }
        let mind = &mut *self.mind.borrow_mut();
        let here = mind.trail.here();
        let call = mind.barometer.filter(|_| is_barometer);
        let Some(call) = call.or_else(|| here.and_then(|here| mind.calls.get(&here).copied())) else {
            return (None, Mood::Sound.typed(question, place));
        };
        let values = mind.figures.contains(&call).then_some(&mind.values);
        let kinds = kinds(question, place, &mut mind.ladder, values);
        let is_reading = matches!(question.wants, Wants::Reading { .. });
        let (number, kind) = self.series.filter(|_| is_reading).unwrap_or_else(|| {
            let number = mind.question(call, question.circuit.clone(), &kinds);
            let notes = &mut mind.notes;
            let has = |kind: &&AnswerKind| kinds.iter().any(|possible| possible.kind == **kind);
            let wished = notes.wish.get(&number).and_then(|wished| wished.iter().find(has));
            let kind = wished.or_else(|| notes.mood.iter().find(has)).copied();
            let kind = kind.or_else(|| kinds.first().map(|plain| plain.kind)).unwrap_or(AnswerKind::Done);
            notes.given.insert(number, vec![kind]);
            // What ends the test is not looked at.
            if kinds.iter().any(|possible| possible.kind == AnswerKind::Cannot) {
                notes.looks.push((number, LEFT));
            }
            match question.wants {
                Wants::Yes | Wants::Choice { .. } => notes.looks.push((number, GIVEN)),
                Wants::Text | Wants::Barometer => notes.looks.push((number, "value")),
                _ => {}
            }
            (number, kind)
        });
        if is_reading {
            self.series = Some((number, kind)).filter(|_| kind != AnswerKind::Cannot);
            self.n_readings += 1;
        }
        let typed = kinds.into_iter().find(|known| known.kind == kind).map(|known| known.typed);
        let typed = typed.unwrap_or_default();
        (Some((number, kind)), if is_reading { self.weighed(typed) } else { typed })
    }

    /// Returns a standard reading as it is read where the air is lighter or heavier.
    fn weighed(&self, typed: String) -> String {
        match typed.strip_suffix(" inHg").and_then(|number| number.parse::<f64>().ok()) {
            Some(number) if self.weight != 1.0 => {
                format!("{} inHg", (number * self.weight * 1e5).round() / 1e5)
            }
            _ => typed,
        }
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
            (Some(rig), HoseOn::Rig(step)) => rig.carry_out(&step.as_step()).map(|seen| seen.reading),
            (Some(rig), HoseOn::Check(condition)) => {
                rig.connect(Load::of(*condition));
                Some(rig.read())
            }
            (None, HoseOn::Rig(RigStep::Set(setting))) => Some(setting.set_to_pa),
            (None, HoseOn::Rig(step)) => self.exact(step.condition()),
            (None, HoseOn::Check(condition)) => self.exact(*condition),
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

impl EveryAnswer {
    /// Returns what an exact rig shows at one of its points.
    fn exact(&self, condition: Condition) -> Option<Pressure> {
        let standard = match condition {
            Condition::Plugged | Condition::OtherPlug | Condition::Capped => STANDARD_PLUGGED,
            Condition::Through => STANDARD_THROUGH,
            Condition::Open => Pressure::constant(0.0),
        };
        Pressure::from_si(standard.si() * self.weight)
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
        if let Told::Began { circuit } = told {
            mind.began(circuit, here.as_ref(), false);
        }
        if let (Told::Found { circuit, .. }, Some(call)) =
            (told, here.as_ref().and_then(|here| mind.calls.get(here)))
        {
            let looks = mind.notes.looks_with(&mind.trail.looks());
            mind.blame.found(*call, circuit.as_deref(), &mind.bundles, &mind.notes.given, &looks);
        }
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
        let (given, typed) = self.say(question, place);
        let mind = &mut *self.mind.borrow_mut();
        let here = mind.trail.here();
        if let Some(form) = &mut mind.form
            // A field for a reading has room for the takes after seating again.
            && let Some(item) = Item::asked(question).filter(|_| !is_again)
        {
            // The rig that no word sets is set for whichever circuit comes first, and at no place in the script.
            let site = here.as_ref().filter(|_| item != Item::Calibration || self.rig.is_some());
            form.add(item, question.circuit.clone(), given.map(|(number, _)| number), site);
        }
        mind.prose.asked(question, here);
        mind.notes.asked.push(given.map(|(number, _)| number));
        mind.notes.lines.push(Typing { asked: question.words.clone(), typed: typed.clone() });
        if given.is_some_and(|(_, kind)| kind == AnswerKind::Cannot) {
            return Ok(Answer::Unable(CANNOT.to_owned()));
        }
        let answer = question.read(&typed).map_err(|refusal| Aside::Lost(refusal.to_string()))?;
        if let Answer::Barometer { barometer, .. } = &answer {
            let barometer = barometer.station();
            self.weight = barometer.si() / STANDARD_PRESSURE;
            let settings = Settings { barometer, ..Settings::default() };
            self.rig = self.rig.take().map(|_| SimulatedRig::new(1, settings));
        }
        Ok(answer)
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
