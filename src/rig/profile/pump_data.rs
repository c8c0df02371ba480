use serde::{Deserialize, Serialize};

use crate::quantity::{Pressure, VolumeFlow};
use crate::rig::pump::Pump;

/// What is known of the pump.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PumpData {
    /// What it is, in the technician's words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub description: Option<String>,
    /// The volume that it moves per time at its own pressure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub speed_m3_s: Option<VolumeFlow>,
    /// The least absolute pressure that it reaches.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ultimate_pa: Option<Pressure>,
}

impl PumpData {
    /// Returns the pump where both of its figures are known.
    pub fn pump(&self) -> Option<Pump> {
        Some(Pump { speed: self.speed_m3_s?, ultimate: self.ultimate_pa? })
    }
}
