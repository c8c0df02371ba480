use std::fmt;

use libm::exp;
use serde::{Deserialize, Serialize};

use super::{ViscosityPoint, Walther, WaltherError};
use crate::quantity::{Density, Temperature, Viscosity};

/// An oil: its viscosity line and its density at 15 °C.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Oil {
    walther: Walther,
    density_15_kg_m3: Density,
}

/// Why an oil cannot be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OilError {
    /// Its density at 15 °C is not between 750 and 1050 kg/m3.
    Density(Density),
    /// Its viscosity line fails.
    Viscosity(WaltherError),
}

impl fmt::Display for OilError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            OilError::Density(density) => {
                write!(
                    f,
                    "{density} is not the density of an oil (750 to 1050 kg/m3); take it from its data sheet"
                )
            }
            OilError::Viscosity(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for OilError {}

/// Density of a typical automatic-transmission oil at 15 °C: 865 kg/m3; common practice, no source.
pub const TYPICAL_DENSITY: Density = Density::constant(865.0);

impl Oil {
    /// Makes an oil from its viscosity line and its density at 15 °C, 750 to 1050 kg/m3.
    pub fn new(walther: Walther, density_15: Density) -> Result<Oil, OilError> {
        if !(750.0..=1050.0).contains(&density_15.si()) {
            return Err(OilError::Density(density_15));
        }
        Ok(Oil { walther, density_15_kg_m3: density_15 })
    }

    /// Returns a typical automatic-transmission oil: 34 mm2/s at 40 °C, 7.4 mm2/s at 100 °C, 865 kg/m3 at 15 °C.
    ///
    /// The 100 °C level is that of conventional oils in SAE 2007-01-3974; the rest is common practice, no source.
    pub fn typical() -> Result<Oil, OilError> {
        let point = |kelvin: f64, viscosity: f64| ViscosityPoint {
            temperature_k: Temperature::constant(kelvin),
            viscosity_m2_s: Viscosity::constant(viscosity),
        };
        let walther =
            Walther::new([point(313.15, 34e-6), point(373.15, 7.4e-6)]).map_err(OilError::Viscosity)?;
        Oil::new(walther, TYPICAL_DENSITY)
    }

    /// Returns the density at a temperature: rho15 exp(-a dT (1 + 0.8 a dT)), a = 0.6278/rho15.
    ///
    /// API MPMS 11.1, lubricating oils, at atmospheric pressure (coefficient from memory).
    pub fn density(&self, temperature: Temperature) -> Density {
        let base = self.density_15_kg_m3.si();
        let expansion = 0.6278 / base * (temperature.si() - 288.15).clamp(-100.0, 200.0);
        Density::from_si(base * exp(-expansion * (1.0 + 0.8 * expansion))).unwrap_or(self.density_15_kg_m3)
    }

    /// Returns the kinematic viscosity at a temperature; see [`Walther::viscosity`].
    pub fn kinematic_viscosity(&self, temperature: Temperature) -> Result<Viscosity, OilError> {
        self.walther.viscosity(temperature).map_err(OilError::Viscosity)
    }

    /// Returns the dynamic viscosity in Pa s at a temperature; see [`Walther::viscosity`].
    pub fn dynamic_viscosity(&self, temperature: Temperature) -> Result<f64, OilError> {
        Ok(self.kinematic_viscosity(temperature)?.si() * self.density(temperature).si())
    }
}
