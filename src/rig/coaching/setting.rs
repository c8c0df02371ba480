use serde::{Deserialize, Serialize};

use crate::quantity::Pressure;
use crate::rig::{Condition, Turn, Valve};

/// One thing to do with a valve: with the hose so, turn it this way until the gauge shows that.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Setting {
    /// What the hose is connected to.
    pub condition: Condition,
    /// The valve.
    pub valve: Valve,
    /// Which way.
    pub turn: Turn,
    /// The reading to stop at.
    pub set_to_pa: Pressure,
}
