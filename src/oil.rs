//! Oil: viscosity and density over temperature, flow through an annulus and through a hole.

use std::f64::consts::PI;
use std::fmt;

use libm::{exp, log10, pow};
use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::quantity::{Density, Temperature, Viscosity, VolumeFlow, shown};

/// An oil: its viscosity line and its density at 15 °C.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Oil {
    walther: Walther,
    density_15_kg_m3: Density,
}

/// Why an oil cannot be.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum OilError {
    /// Its density at 15 °C is not between 750 and 1050 kg/m3.
    #[error("{0} is not the density of an oil (750 to 1050 kg/m3); take it from its data sheet")]
    Density(Density),
    #[error("{0}")]
    Viscosity(WaltherError),
}

/// Density of a typical automatic-transmission oil at 15 °C: 865 kg/m3; common practice, no source.
const TYPICAL_DENSITY: Density = Density::constant(865.0);

/// What is known of the figures of the oil that is taken where none is named.
pub(crate) const TYPICAL_SOURCE: &str = "a typical oil: its viscosity at 100 °C is that of conventional ones in SAE 2007-01-3974, that at 40 °C common practice";

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
        Oil::of_viscosities(Viscosity::constant(34e-6), Viscosity::constant(7.4e-6))
    }

    /// Makes an oil of its viscosities at 40 and at 100 °C, and the typical density.
    pub fn of_viscosities(at_40: Viscosity, at_100: Viscosity) -> Result<Oil, OilError> {
        let point = |kelvin: f64, viscosity_m2_s| ViscosityPoint {
            temperature_k: Temperature::constant(kelvin),
            viscosity_m2_s,
        };
        let walther =
            Walther::new([point(313.15, at_40), point(373.15, at_100)]).map_err(OilError::Viscosity)?;
        Oil::new(walther, TYPICAL_DENSITY)
    }

    /// Returns its two viscosities with their temperatures.
    pub fn points(&self) -> [ViscosityPoint; 2] {
        self.walther.points()
    }

    /// Returns whether it is the one that is taken where none is named.
    pub fn is_typical(&self) -> bool {
        Oil::typical().is_ok_and(|typical| typical == *self)
    }

    /// Returns the density at a temperature: rho15 exp(-a dT (1 + 0.8 a dT)), a = 0.6278/rho15.
    ///
    /// API MPMS 11.1, lubricating oils, at atmospheric pressure (coefficient from memory).
    pub fn density(&self, temperature: Temperature) -> Density {
        let base = self.density_15_kg_m3.si();
        let expansion = 0.6278 / base * (temperature.si() - 288.15).clamp(-100.0, 200.0);
        Density::from_si(base * exp(-expansion * (1.0 + 0.8 * expansion))).unwrap_or(self.density_15_kg_m3)
    }

    /// Returns the kinematic viscosity at a temperature; see `Walther::viscosity`.
    pub fn kinematic_viscosity(&self, temperature: Temperature) -> Result<Viscosity, OilError> {
        self.walther.viscosity(temperature).map_err(OilError::Viscosity)
    }

    /// Returns the dynamic viscosity in Pa s at a temperature; see `Walther::viscosity`.
    pub fn dynamic_viscosity(&self, temperature: Temperature) -> Result<f64, OilError> {
        Ok(self.kinematic_viscosity(temperature)?.si() * self.density(temperature).si())
    }
}

impl fmt::Display for Oil {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [cold, hot] = self.points().map(|point| {
            let (centistokes, celsius) = (point.viscosity_m2_s.si() * 1e6, point.temperature_k.si() - 273.15);
            format!("{} cSt at {} °C", shown(centistokes, 1), shown(celsius, 0))
        });
        write!(f, "oil of {cold} and {hot}")
    }
}

/// A kinematic viscosity measured at a temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ViscosityPoint {
    pub temperature_k: Temperature,
    pub viscosity_m2_s: Viscosity,
}

/// An oil's kinematic viscosity over temperature, by ASTM D341 (Walther): log log (nu + 0.7) = A - B log T.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(try_from = "[ViscosityPoint; 2]", into = "[ViscosityPoint; 2]")]
pub struct Walther {
    points: [ViscosityPoint; 2],
    a: f64,
    b: f64,
}

/// Why two points give no viscosity line.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum WaltherError {
    /// A viscosity is not between 2 and 100 000 mm2/s.
    #[error("a viscosity of {0} is outside 2 to 100000 cSt; take it from the oil's data sheet")]
    Viscosity(Viscosity),
    /// A temperature is not between -70 and 200 °C.
    #[error("{0} is outside -70 to 200 °C; give a temperature that the oil works at or its data sheet names")]
    Temperature(Temperature),
    /// The two temperatures are less than 10 K apart.
    #[error("the two viscosities need temperatures at least 10 °C apart; data sheets give 40 and 100 °C")]
    TooClose,
    #[error("oil thins as it warms, but the hotter viscosity is not the smaller one; swap the two")]
    NotThinning,
}

impl Walther {
    /// Makes the line through two points; viscosities from 2 to 100 000 mm2/s at temperatures from -70 to 200 °C, at
    /// least 10 K apart. The standard's absolute temperature is t + 273.15.
    pub fn new(points: [ViscosityPoint; 2]) -> Result<Walther, WaltherError> {
        for point in points {
            if !(2.0e-6..=0.1).contains(&point.viscosity_m2_s.si()) {
                return Err(WaltherError::Viscosity(point.viscosity_m2_s));
            }
            in_range(point.temperature_k)?;
        }
        let [first, second] =
            points.map(|point| (log10(point.temperature_k.si()), double_log(point.viscosity_m2_s.si())));
        if (points[0].temperature_k.si() - points[1].temperature_k.si()).abs() < 10.0 {
            return Err(WaltherError::TooClose);
        }
        let b = (first.1 - second.1) / (second.0 - first.0);
        if b.is_nan() || b <= 0.0 {
            return Err(WaltherError::NotThinning);
        }
        Ok(Walther { points, a: first.1 + b * first.0, b })
    }

    /// Returns the constants A and B of the line, for viscosities in mm2/s.
    pub fn constants(&self) -> (f64, f64) {
        (self.a, self.b)
    }

    fn points(&self) -> [ViscosityPoint; 2] {
        self.points
    }

    /// Returns the kinematic viscosity at a temperature from -70 to 200 °C, where it comes out at 2 mm2/s or more.
    pub fn viscosity(&self, temperature: Temperature) -> Result<Viscosity, WaltherError> {
        in_range(temperature)?;
        let square_millimetres = pow(10.0, pow(10.0, self.a - self.b * log10(temperature.si()))) - 0.7;
        let viscosity =
            Viscosity::from_si(square_millimetres * 1e-6).ok_or(WaltherError::Temperature(temperature))?;
        if square_millimetres < 2.0 { Err(WaltherError::Viscosity(viscosity)) } else { Ok(viscosity) }
    }
}

fn in_range(temperature: Temperature) -> Result<(), WaltherError> {
    let known = (203.15..=473.15).contains(&temperature.si());
    known.then_some(()).ok_or(WaltherError::Temperature(temperature))
}

fn double_log(square_metres: f64) -> f64 {
    log10(log10(square_metres * 1e6 + 0.7))
}

impl TryFrom<[ViscosityPoint; 2]> for Walther {
    type Error = WaltherError;

    fn try_from(points: [ViscosityPoint; 2]) -> Result<Walther, WaltherError> {
        Walther::new(points)
    }
}

impl From<Walther> for [ViscosityPoint; 2] {
    fn from(walther: Walther) -> [ViscosityPoint; 2] {
        walther.points
    }
}

/// Returns the laminar flow of a liquid through a centred annulus: pi (D - c) c^3 dp / (12 mu L).
///
/// Bore, clearance and length in m, pressure drop in Pa, dynamic viscosity in Pa s. M. G. Rabie, Fluid Power
/// Engineering (2009), equation 2.19, with the mean diameter D - c, which agrees with the exact annulus to 2e-5.
/// There is no answer where the clearance is not below a quarter of the bore or a length or the viscosity is not
/// positive.
pub(crate) fn annulus_flow(
    bore: f64,
    clearance: f64,
    length: f64,
    pressure_drop: f64,
    viscosity: f64,
) -> Option<VolumeFlow> {
    let shaped = bore > 0.0 && length > 0.0 && viscosity > 0.0 && (0.0..bore / 4.0).contains(&clearance);
    let cube = clearance * clearance * clearance;
    let flow = PI * (bore - clearance) * cube * pressure_drop / (12.0 * viscosity * length);
    VolumeFlow::from_si(flow).filter(|_| shaped && pressure_drop >= 0.0)
}

/// Returns the turbulent flow of a liquid through a sharp hole: A_e sqrt(2 dp/rho).
///
/// Effective area (coefficient times area) in m2, pressure drop in Pa, density in kg/m3; none may be negative, the
/// density not zero, else there is no answer.
pub(crate) fn hole_flow(effective_area: f64, pressure_drop: f64, density: f64) -> Option<VolumeFlow> {
    let sound = effective_area >= 0.0 && pressure_drop >= 0.0 && density > 0.0;
    VolumeFlow::from_si(effective_area * (2.0 * pressure_drop / density).sqrt()).filter(|_| sound)
}
