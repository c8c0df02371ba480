use super::{Finding, Setting};
use crate::quantity::Pressure;
use crate::rig::{Condition, Stop, Valve};

/// What the technician does next while a rig is calibrated.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// Read the gauge and turn nothing.
    Read(Condition),
    /// Turn a valve until the gauge shows what the setting says, and read.
    Set {
        /// What to do.
        setting: Setting,
        /// What to do after that, where it is known already.
        then: Option<Setting>,
    },
    /// Turn a valve as far as it goes, and read.
    TurnToStop {
        /// What the hose is connected to.
        condition: Condition,
        /// The valve.
        valve: Valve,
        /// Which end of its travel.
        stop: Stop,
    },
    /// Nothing: both readings are within tolerance.
    Settled {
        /// The reading with the hose plugged.
        plugged: Pressure,
        /// The reading through the orifice.
        through: Pressure,
    },
    /// Put this right, and start over.
    Repair(Finding),
}

/// The next step, and why, in a sentence.
#[derive(Debug, Clone, PartialEq)]
pub struct Coached {
    /// What to do.
    pub step: Step,
    /// Why; one whole sentence.
    pub reason: String,
}
