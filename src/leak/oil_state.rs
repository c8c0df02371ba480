use serde::{Deserialize, Serialize};

use super::ContextError;
use crate::oil::Oil;
use crate::quantity::{Pressure, Temperature, VolumeFlow};

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
