use super::course::Course;
use super::sight::Sight;
use super::{Coached, Goal, Observation, Step};
use crate::rig::{Calibration, Dial};

/// Leads a technician through setting both valves, reading after reading.
///
/// It keeps nothing: the next step is a pure function of the goal, the dial and the readings so far. It finds leaking
/// hoses and plugs, weak pumps and stuck dials where readings do not fit, and wherever the course is thorough. Pressures
/// alone cannot tell an orifice's size, so a wrong one is found by comparison with the last calibration only, and a leak
/// of the hose that the bleed valve can take up is harmless and found on a thorough course only.
#[derive(Debug, Clone, PartialEq)]
pub struct Coach {
    goal: Goal,
    dial: Dial,
    last: Option<Calibration>,
    is_thorough: bool,
}

impl Coach {
    /// Makes a coach for a goal and a dial.
    pub fn new(goal: Goal, dial: Dial) -> Coach {
        Coach { goal, dial, last: None, is_thorough: false }
    }

    /// Lets it compare the first pair of readings with a calibration since which nobody has turned a valve.
    pub fn since(self, last: Calibration) -> Coach {
        Coach { last: Some(last), ..self }
    }

    /// Makes it prove pump, hose and plug on the way: for a new rig, and after a change of parts.
    pub fn thorough(self) -> Coach {
        Coach { is_thorough: true, ..self }
    }

    /// Returns what to do next after these observations, all since the start or since the last repair.
    pub fn advise(&self, history: &[Observation]) -> Coached {
        let mut coached = Course::of(self, history).phase().coached(self);
        if let (Step::Set { setting, .. }, Some(seen)) = (&mut coached.step, history.last()) {
            setting.follow(seen);
        }
        coached
    }

    /// Returns what it leads to.
    pub fn goal(&self) -> &Goal {
        &self.goal
    }

    /// Returns the dial that is read.
    pub fn dial(&self) -> &Dial {
        &self.dial
    }

    pub(super) fn last(&self) -> Option<&Calibration> {
        self.last.as_ref()
    }

    pub(super) fn is_thorough(&self) -> bool {
        self.is_thorough
    }

    pub(super) fn sight(&self) -> Sight {
        Sight::new(&self.dial, &self.goal)
    }

    /// The inlet valve's area at the goal, in test orifices.
    pub(super) fn inlet(&self) -> f64 {
        self.goal.areas(0.0).map_or(1.0, |areas| areas.inlet)
    }
}
