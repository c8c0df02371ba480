use super::phase::Phase;
use super::proving::{Proving, Why};
use super::{Coached, Finding, Observation, Step};
use crate::quantity::Pressure;
use crate::rig::Condition;

/// Telling by one more reading whether plug or hose lets the air in that a low plugged reading shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Comparing {
    pub(super) suspect: Suspect,
    /// The plugged reading with the leak.
    pub(super) low: Pressure,
    /// What it would be without.
    pub(super) sound: Pressure,
    /// How much comes in, in test orifices.
    pub(super) leak: f64,
    /// What is left where plug and hose are sound.
    pub(super) otherwise: Otherwise,
}

/// A part that may leak.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Suspect {
    Plug,
    Hose,
}

/// What to think where neither plug nor hose leaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Otherwise {
    /// The bleed valve is shut: it is the rig itself that leaks.
    RigLeaks,
    /// The needle moves and the plugged reading is as it should: no air comes through the orifice.
    OrificeBlocked,
    /// Somebody has turned a valve after all, or the pump has changed: prove the rig.
    Prove,
}

impl Comparing {
    pub(super) fn coached(&self) -> Coached {
        let (condition, reason) = match self.suspect {
            Suspect::Plug => (
                Condition::OtherPlug,
                "Air comes in that should not: if another plug makes the reading rise, it was the plug.",
            ),
            Suspect::Hose => (
                Condition::Capped,
                "The plug is not the cause: if the reading rises with the hose off, it is the hose.",
            ),
        };
        Coached { step: Step::Read(condition), reason: reason.to_owned() }
    }

    /// Returns the phase after an observation that fits; `None` where it does not belong here.
    pub(super) fn after(self, seen: &Observation) -> Option<Phase> {
        let (condition, finding) = match self.suspect {
            Suspect::Plug => (Condition::OtherPlug, Finding::PlugNotSealing { leak: self.leak }),
            Suspect::Hose => (Condition::Capped, Finding::HoseLeaking { leak: self.leak }),
        };
        if seen.moved.is_some() || seen.condition != condition {
            return None;
        }
        if seen.reading.si() > 0.5 * (self.low.si() + self.sound.si()) {
            return Some(Phase::Found(finding));
        }
        Some(match (self.suspect, self.otherwise) {
            (_, Otherwise::OrificeBlocked) => Phase::Found(Finding::OrificeBlocked),
            (Suspect::Plug, _) => Phase::Comparing(Comparing { suspect: Suspect::Hose, ..self }),
            (Suspect::Hose, Otherwise::RigLeaks) => Phase::Found(Finding::RigLeaking { leak: self.leak }),
            (Suspect::Hose, Otherwise::Prove) => Phase::Proving(Proving::start(Why::Prove)),
        })
    }
}
