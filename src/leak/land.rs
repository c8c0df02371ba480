use serde::{Deserialize, Serialize};

use super::ContextError;
use crate::air::Clearance;
use crate::quantity::Length;
use crate::rig::Calibration;

/// A land of a valve in its bore, whose clearance may be what leaks.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Parts", into = "Parts")]
pub struct Land {
    diameter: Length,
    length: Length,
    eccentricity: f64,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Parts {
    diameter_m: Length,
    length_m: Length,
    eccentricity: f64,
}

impl Land {
    /// Makes a land: bore of 1 to 200 mm, length of 0.1 to 200 mm, eccentricity from 0 (centred) to 1 (touching).
    pub fn new(diameter: Length, length: Length, eccentricity: f64) -> Result<Land, ContextError> {
        if !(1e-3..=0.2).contains(&diameter.si()) {
            return Err(ContextError::Diameter(diameter));
        }
        if !(1e-4..=0.2).contains(&length.si()) {
            return Err(ContextError::Length(length));
        }
        if !(0.0..=1.0).contains(&eccentricity) {
            return Err(ContextError::Eccentricity(eccentricity));
        }
        Ok(Land { diameter, length, eccentricity })
    }

    /// Returns the bore's diameter.
    pub fn diameter(&self) -> Length {
        self.diameter
    }

    /// Returns the length of the land along the bore.
    pub fn length(&self) -> Length {
        self.length
    }

    /// Returns the eccentricity: 0 centred, 1 touching.
    pub fn eccentricity(&self) -> f64 {
        self.eccentricity
    }

    /// Returns the land's clearance as a way for the air of a calibrated rig.
    pub fn clearance(&self, calibration: &Calibration) -> Clearance {
        let (room, temperature) = (calibration.barometer(), calibration.temperature());
        Clearance::new(self.diameter, self.length, self.eccentricity, room, temperature)
    }
}

impl TryFrom<Parts> for Land {
    type Error = ContextError;

    fn try_from(parts: Parts) -> Result<Land, ContextError> {
        Land::new(parts.diameter_m, parts.length_m, parts.eccentricity)
    }
}

impl From<Land> for Parts {
    fn from(land: Land) -> Parts {
        Parts { diameter_m: land.diameter, length_m: land.length, eccentricity: land.eccentricity }
    }
}
