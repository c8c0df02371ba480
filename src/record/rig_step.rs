use serde::{Deserialize, Serialize};

use crate::rig::coaching::{Moved, Setting, Step};
use crate::rig::{Condition, Stop, Valve};

/// What a technician does with the rig before a reading while it is calibrated.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "do", rename_all = "snake_case", deny_unknown_fields)]
pub enum RigStep {
    /// Turns nothing.
    Read {
        /// What the hose is connected to.
        condition: Condition,
    },
    /// Turns a valve until the gauge shows a reading.
    Set {
        /// Which valve, which way, to which reading.
        setting: Setting,
    },
    /// Turns a valve as far as it goes.
    ToStop {
        /// What the hose is connected to.
        condition: Condition,
        /// The valve.
        valve: Valve,
        /// Which end of its travel.
        stop: Stop,
    },
}

impl RigStep {
    /// Returns what the hose is connected to.
    pub fn condition(self) -> Condition {
        match self {
            RigStep::Read { condition } | RigStep::ToStop { condition, .. } => condition,
            RigStep::Set { setting } => setting.condition,
        }
    }

    /// Returns which valve was turned; `at_stop` says that it came to its stop before the gauge showed what it should.
    pub fn moved(self, at_stop: bool) -> Option<Moved> {
        match self {
            RigStep::Read { .. } => None,
            RigStep::Set { setting } => {
                let stop = at_stop.then_some(setting.turn.stop());
                Some(Moved { valve: setting.valve, stop })
            }
            RigStep::ToStop { valve, stop, .. } => Some(Moved { valve, stop: Some(stop) }),
        }
    }

    /// Returns the step that a coach asks for; none where it asks for no reading.
    pub fn of(step: &Step) -> Option<RigStep> {
        match step {
            Step::Read(condition) => Some(RigStep::Read { condition: *condition }),
            Step::Set { setting, .. } => Some(RigStep::Set { setting: *setting }),
            Step::TurnToStop { condition, valve, stop } => {
                Some(RigStep::ToStop { condition: *condition, valve: *valve, stop: *stop })
            }
            Step::Settled { .. } | Step::Repair(_) => None,
        }
    }

    /// Returns the same as a coach's step.
    pub fn as_step(self) -> Step {
        match self {
            RigStep::Read { condition } => Step::Read(condition),
            RigStep::Set { setting } => Step::Set { setting, then: None },
            RigStep::ToStop { condition, valve, stop } => Step::TurnToStop { condition, valve, stop },
        }
    }
}
