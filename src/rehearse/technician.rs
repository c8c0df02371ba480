use crate::practice::{Leaks, ReadAt};
use crate::procedure::{Aside, Desk, Mood, Place, Shown};
use crate::quantity::{Unit, shown as number};
use crate::record::{Answer, HoseOn, Question, RigStep, Told, Wants};
use crate::rig::simulated::{Load, SimulatedRig};
use crate::session::Person;

/// A technician who does what a procedure says, on a simulated rig, and answers the plain questions as a matter of
/// course.
pub(crate) struct Technician {
    person: Person,
    rig: SimulatedRig,
    leaks: Leaks,
}

impl Technician {
    /// Puts a technician in front of a simulated rig; what is said and asked is shown to the person.
    pub(crate) fn new(person: Person, rig: SimulatedRig, leaks: Leaks) -> Technician {
        Technician { person, rig, leaks }
    }

    /// Reads the dial with the hose where the question has it.
    fn dial(&mut self, question: &Question, place: &Place, on: &HoseOn, unit: &Unit) -> String {
        let load = match on {
            HoseOn::Rig(step) => return self.carry_out(*step, unit),
            HoseOn::Check(condition) => Load::of(*condition),
            HoseOn::Circuit { label, trial, .. } => {
                let (circuit, label) = (question.circuit.as_deref().unwrap_or_default(), label.as_deref());
                let (spot, take) = (place.spot(question), place.take);
                Load::Circuit(self.leaks.of(&ReadAt { circuit, label, spot: &spot, is_trial: *trial, take }))
            }
        };
        self.rig.connect(load);
        // A tight circuit may be read a shade deeper than the plugged hose was; a technician would look again and
        // write what the plugged hose shows.
        let seen = self.rig.read().si().min(question.deepest().map_or(f64::MAX, |deepest| deepest.si()));
        number(unit.from_si(seen), 2)
    }

    /// Does what the coach asks for, and says what the dial shows then.
    fn carry_out(&mut self, step: RigStep, unit: &Unit) -> String {
        let Some(observation) = self.rig.carry_out(&step.as_step()) else { return String::new() };
        let shown = number(unit.from_si(observation.reading.si()), 2);
        let is_set = matches!(step, RigStep::Set(_));
        match observation.moved.and_then(|moved| moved.stop) {
            Some(_) if is_set => format!("{shown} stop"),
            _ => shown,
        }
    }

    fn say(&mut self, question: &Question, place: &Place) -> String {
        match &question.wants {
            Wants::Ready => String::new(),
            Wants::Technician => "rehearsal".to_owned(),
            Wants::Barometer => format!("{} Pa", self.rig.settings().barometer.si()),
            Wants::AirTemperature => {
                format!("{} C", number(self.rig.settings().temperature.si() - 273.15, 1))
            }
            Wants::Reading { on, unit, .. } => match Unit::by_text(unit) {
                Some(unit) => self.dial(question, place, &on.clone(), unit),
                None => String::new(),
            },
            _ => Mood::Sound.typed(question, place),
        }
    }
}

impl Desk for Technician {
    fn tell(&mut self, told: &Told) {
        self.person.tell(told);
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        let said = self.say(question, place);
        self.person.pose(question, place);
        self.person.echo(question, &said);
        question.read(&said).map_err(|refusal| Aside::Lost(refusal.to_string()))
    }

    fn forget(&mut self) {
        self.person.forget();
    }

    fn recall(&mut self, shown: &Shown<'_>) {
        self.person.recall(shown);
    }

    fn show(&mut self, shown: &Shown<'_>) {
        self.person.show(shown);
    }
}
