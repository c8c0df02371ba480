use std::fmt;

use libm::{log10, pow};
use serde::{Deserialize, Serialize};

use crate::quantity::{Temperature, Viscosity};

/// A kinematic viscosity measured at a temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ViscosityPoint {
    /// Where it was measured, in K.
    pub temperature_k: Temperature,
    /// The kinematic viscosity, in m2/s.
    pub viscosity_m2_s: Viscosity,
}

/// An oil's kinematic viscosity over temperature, by ASTM D341 (Walther): log log (nu + 0.7) = A - B log T.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "[ViscosityPoint; 2]", into = "[ViscosityPoint; 2]")]
pub struct Walther {
    points: [ViscosityPoint; 2],
    a: f64,
    b: f64,
}

/// Why two points give no viscosity line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WaltherError {
    /// A viscosity is not between 2 and 100 000 mm2/s.
    Viscosity(Viscosity),
    /// A temperature is not between -70 and 200 °C.
    Temperature(Temperature),
    /// The two temperatures are less than 10 K apart.
    TooClose,
    /// The hotter oil is not the thinner one.
    NotThinning,
}

impl fmt::Display for WaltherError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            WaltherError::Viscosity(viscosity) => {
                write!(
                    f,
                    "a viscosity of {viscosity} is outside 2 to 100000 cSt; take it from the oil's data sheet"
                )
            }
            WaltherError::Temperature(temperature) => write!(
                f,
                "{temperature} is outside -70 to 200 °C; give a temperature that the oil works at or its data sheet names"
            ),
            WaltherError::TooClose => f.write_str(
                "the two viscosities need temperatures at least 10 °C apart; data sheets give 40 and 100 °C",
            ),
            WaltherError::NotThinning => f.write_str(
                "oil thins as it warms, but the hotter viscosity is not the smaller one; swap the two",
            ),
        }
    }
}

impl std::error::Error for WaltherError {}

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

    /// Returns the two points.
    pub fn points(&self) -> [ViscosityPoint; 2] {
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
