use crate::quantity::Pressure;
use crate::rig::coaching::Goal;

/// What a rig is wanted for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Job {
    /// The calibration that it is to hold.
    pub goal: Goal,
    /// The highest line pressure of the units tested, where the hose is used for that too.
    pub line_pressure: Option<Pressure>,
}
