use std::fmt;

use serde::{Deserialize, Serialize};

use crate::air::Clearance;
use crate::oil::{Oil, OilError};
use crate::quantity::{Length, Pressure, Temperature, VolumeFlow};
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

/// The oil of a circuit at work.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "OilParts", into = "OilParts")]
pub struct OilState {
    parts: OilParts,
    viscosity: f64,
    density: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct OilParts {
    oil: Oil,
    pressure_pa: Pressure,
    temperature_k: Temperature,
    pump_delivery_m3_s: Option<VolumeFlow>,
}

/// What is known of a circuit besides its readings.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Context {
    /// The land that seals it.
    pub land: Option<Land>,
    /// The oil it works with.
    pub oil: Option<OilState>,
}

/// Why what is said of a circuit cannot be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ContextError {
    /// The bore is not between 1 and 200 mm.
    Diameter(Length),
    /// The land is not between 0.1 and 200 mm long.
    Length(Length),
    /// The eccentricity is not between 0 (centred) and 1 (touching).
    Eccentricity(f64),
    /// The working pressure is not between 1 kPa and 10 MPa.
    Pressure(Pressure),
    /// The pump's delivery is not positive.
    Delivery(VolumeFlow),
    /// The oil has no viscosity at this temperature.
    Oil(OilError),
}

impl fmt::Display for ContextError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ContextError::Diameter(diameter) => {
                write!(f, "a bore of {diameter} is not that of a valve (0.04 to 7.9 in); measure it again")
            }
            ContextError::Length(length) => {
                write!(f, "a land {length} long is not that of a valve (0.004 to 7.9 in); measure it again")
            }
            ContextError::Eccentricity(eccentricity) => {
                write!(
                    f,
                    "an eccentricity of {eccentricity} cannot be; give 0 for centred, 1 for touching, or between"
                )
            }
            ContextError::Pressure(pressure) => {
                write!(f, "a working pressure of {pressure} is not that of a transmission; check its unit")
            }
            ContextError::Delivery(_) => {
                f.write_str("the pump's delivery must be above 0; leave it out if unknown")
            }
            ContextError::Oil(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for ContextError {}

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

impl OilState {
    /// Makes the working state: pressure across the leak of 1 kPa to 10 MPa, a temperature at which the oil's viscosity
    /// is known, and the pump's delivery where known.
    pub fn new(
        oil: Oil,
        pressure: Pressure,
        temperature: Temperature,
        pump_delivery: Option<VolumeFlow>,
    ) -> Result<OilState, ContextError> {
        if !(1e3..=1e7).contains(&pressure.si()) {
            return Err(ContextError::Pressure(pressure));
        }
        if let Some(delivery) = pump_delivery.filter(|delivery| delivery.si() <= 0.0) {
            return Err(ContextError::Delivery(delivery));
        }
        let parts = OilParts {
            oil,
            pressure_pa: pressure,
            temperature_k: temperature,
            pump_delivery_m3_s: pump_delivery,
        };
        let viscosity = oil.dynamic_viscosity(temperature).map_err(ContextError::Oil)?;
        Ok(OilState { parts, viscosity, density: oil.density(temperature).si() })
    }

    /// Returns the oil.
    pub fn oil(&self) -> &Oil {
        &self.parts.oil
    }

    /// Returns the working pressure across the leak.
    pub fn pressure(&self) -> Pressure {
        self.parts.pressure_pa
    }

    /// Returns the temperature of the oil.
    pub fn temperature(&self) -> Temperature {
        self.parts.temperature_k
    }

    /// Returns what the pump delivers, where known.
    pub fn pump_delivery(&self) -> Option<VolumeFlow> {
        self.parts.pump_delivery_m3_s
    }

    /// Returns the oil's dynamic viscosity at its temperature, in Pa s.
    pub fn viscosity(&self) -> f64 {
        self.viscosity
    }

    /// Returns the oil's density at its temperature, in kg/m3.
    pub fn density(&self) -> f64 {
        self.density
    }
}

impl TryFrom<OilParts> for OilState {
    type Error = ContextError;

    fn try_from(parts: OilParts) -> Result<OilState, ContextError> {
        OilState::new(parts.oil, parts.pressure_pa, parts.temperature_k, parts.pump_delivery_m3_s)
    }
}

impl From<OilState> for OilParts {
    fn from(state: OilState) -> OilParts {
        state.parts
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
