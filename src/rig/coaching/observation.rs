use serde::{Deserialize, Serialize};

use crate::quantity::Pressure;
use crate::rig::{Condition, Stop, Valve};

/// One reading taken while a rig is calibrated, with what was turned just before it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Observation {
    /// What the hose was connected to.
    pub condition: Condition,
    /// What the gauge showed after it had settled.
    pub reading: Pressure,
    /// The valve that was turned since the reading before; never both.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub moved: Option<Moved>,
}

/// A valve that was turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Moved {
    /// Which one.
    pub valve: Valve,
    /// The stop that it was turned against, where it was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stop: Option<Stop>,
}
