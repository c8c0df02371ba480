use std::fmt;

use serde::{Deserialize, Serialize};

/// A kind of quantity: what may be compared with what.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Dimension {
    /// Pressure or vacuum; SI unit Pa.
    Pressure,
    /// Length; SI unit m.
    Length,
    /// Temperature; SI unit K.
    Temperature,
    /// Electrical resistance; SI unit ohm.
    Resistance,
    /// Voltage; SI unit V.
    Voltage,
    /// Electrical current; SI unit A.
    Current,
    /// A span of time; SI unit s.
    Duration,
    /// Volume; SI unit m3.
    Volume,
    /// Volume flow; SI unit m3/s.
    VolumeFlow,
    /// Kinematic viscosity; SI unit m2/s.
    Viscosity,
    /// Density; SI unit kg/m3.
    Density,
}

impl Dimension {
    /// The name used in messages: "a length", "a pressure".
    pub fn name(self) -> &'static str {
        match self {
            Dimension::Pressure => "pressure",
            Dimension::Length => "length",
            Dimension::Temperature => "temperature",
            Dimension::Resistance => "resistance",
            Dimension::Voltage => "voltage",
            Dimension::Current => "current",
            Dimension::Duration => "time span",
            Dimension::Volume => "volume",
            Dimension::VolumeFlow => "volume flow",
            Dimension::Viscosity => "viscosity",
            Dimension::Density => "density",
        }
    }
}

impl fmt::Display for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
