//! Why a walk ends before its script does, and what the runner does in its middle.

use super::{Aside, Fault, Walk};
use crate::record::Circuit;

/// Why a walk ends before its script does.
#[derive(Debug, Clone, PartialEq)]
pub enum Halt {
    Aside(Aside),
    /// The technician could not do something while a circuit was under test, so its test ends here.
    LeaveCircuit,
    /// The rig has drifted since the readings before the last good check.
    Drifted,
    /// No more of the walk is wanted.
    FarEnough,
    /// The script asks too much, or what can't be right here.
    Fault(Box<Fault>),
}

impl From<Aside> for Halt {
    fn from(aside: Aside) -> Halt {
        Halt::Aside(aside)
    }
}

/// What the runner does at the end of a circuit's test.
pub(crate) type Commit = fn(&mut Walk, &Circuit, &[String]) -> Result<(), Halt>;

/// What the runner does where a procedure says that it is time for it.
#[derive(Clone, Copy)]
pub(crate) struct RunnersPart {
    /// Asks for both points of the rig.
    pub set_rig: fn(&mut Walk) -> Result<(), Halt>,
    /// Looks at the rig for the last time, and has what is amiss decided.
    pub close: fn(&mut Walk) -> Result<(), Halt>,
    /// Has whoever tests commit to what a circuit is, read at places of these labels, before anything is said of it;
    /// each reading is taken once then. None where readings are judged at once.
    pub commit: Option<Commit>,
}
