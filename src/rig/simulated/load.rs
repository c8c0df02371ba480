use serde::{Deserialize, Serialize};

use crate::quantity::Length;

/// What is at the end of a simulated rig's hose.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Load {
    /// The plug that comes with the rig.
    Plugged,
    /// The same end closed by another plug, known to be good.
    OtherPlug,
    /// No hose at all: the rig's own port is capped.
    Capped,
    /// The end is open to the air.
    Open,
    /// The test orifice.
    Orifice,
    /// A drilled hole of this bore.
    Hole {
        /// The bore.
        diameter: Length,
    },
    /// A leak as a share of the test orifice; 0 or more.
    Leak(f64),
    /// A land with clearance in its bore.
    Clearance {
        /// The diameter of the bore.
        bore: Length,
        /// The length of the land.
        land: Length,
        /// The radial clearance, at most a tenth of the bore.
        clearance: Length,
        /// How far the land sits off centre: 0 centred, 1 touching.
        eccentricity: f64,
    },
}
