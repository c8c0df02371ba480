use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::budget::ROOT_3;
use super::propagation::student_factor;
use super::{Land, LeakKind};
use crate::air::AirTemperature;
use crate::oil::{Oil, OilError};
use crate::quantity::{Length, Pressure, Temperature, VolumeFlow};
use crate::rig::{Calibration, Dial, Repeatability};

/// A calibrated rig with what is known of its errors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bench {
    pub(crate) calibration: Calibration,
    pub(crate) dial: Dial,
    /// Standard deviation of a single reading.
    pub(crate) repeatability: Pressure,
    /// How far the rig may have drifted since its calibration, either way.
    pub(crate) drift: Pressure,
    /// Standard uncertainty of the station pressure.
    pub(crate) barometer_uncertainty: Pressure,
    /// Standard uncertainty of the temperature of the air, in K.
    pub(crate) temperature_uncertainty: f64,
}

impl Bench {
    /// Makes a bench whose repeatability is the usual one: a standard deviation of a quarter of the dial's smallest
    /// division (common practice, no source). No drift is allowed for, the barometer is a good one (100 Pa) and so
    /// is the thermometer.
    pub fn new(calibration: Calibration, dial: Dial) -> Bench {
        Bench {
            calibration,
            dial,
            repeatability: Pressure::constant(dial.smallest_division().si() / 4.0),
            drift: Pressure::constant(0.0),
            barometer_uncertainty: Pressure::constant(100.0),
            temperature_uncertainty: AirTemperature::READ_UNCERTAINTY,
        }
    }

    /// Takes a measured repeatability in the place of the usual one; where it comes from few readings, the deviation
    /// with which 1.96 of it reach as far as Student's distribution does for so many.
    pub fn with_repeatability(self, measured: Repeatability) -> Bench {
        let factor = student_factor(measured.readings as usize) / 1.96;
        Bench { repeatability: Pressure::constant(factor * measured.deviation.si()), ..self }
    }

    /// Returns the standard deviation of one look at the needle, in Pa: what seat, needle and eye repeat within, and
    /// the rounding to what the dial can show.
    fn look_deviation(&self) -> f64 {
        let rounding = self.dial.resolution().si() / ROOT_3;
        (self.repeatability.si() * self.repeatability.si() + rounding * rounding).sqrt()
    }

    /// Returns what two looks at the same differ by in one case of twenty: the repeatability limit, 2.8
    /// standard deviations (ISO 5725-6). It is no less than a division: who reads to the nearest mark is off by
    /// half of one either way.
    pub(crate) fn repeatability_limit(&self) -> Pressure {
        Pressure::constant((2.8 * self.look_deviation()).max(self.a_division()))
    }

    /// Returns up to which sum of squares about their mean, in Pa2, the scatter of so many readings says nothing that
    /// the budget does not hold already, as repeatability and resolution (JCGM 100, 4.3.10): what looks at the same
    /// exceed in one case of 40 (chi-square), and no less than what readings make that all lie within a division.
    pub(super) fn explained_squares(&self, n_readings: usize) -> f64 {
        let freedom = n_readings as f64 - 1.0;
        // The quantile of chi-square by Wilson and Hilferty's approximation (Proc. Natl. Acad. Sci. 17, 1931).
        let third = 2.0 / (9.0 * freedom);
        let root = 1.0 - third + 1.96 * third.sqrt();
        let quantile = freedom * root * root * root;
        // Farthest from their mean are halves at either end.
        let (half, rest) = (n_readings / 2, n_readings - n_readings / 2);
        let of_marks = (half * rest) as f64 / n_readings as f64;
        let (look, division) = (self.look_deviation(), self.a_division());
        (quantile * look * look).max(of_marks * division * division)
    }

    /// The step from mark to mark, in Pa; two marks are apart by as much but for the last bit.
    fn a_division(&self) -> f64 {
        (1.0 + 1e-9) * self.dial.smallest_division().si()
    }

    /// Allows for a drift of the rig since its calibration, up to this either way: the tolerance of drift checks. What
    /// is more than a fifth of the dial fits no dial and is not allowed for.
    pub fn with_drift(self, drift: Pressure) -> Bench {
        let fits = (0.0..=self.dial.span().si() / 5.0).contains(&drift.si());
        if fits { Bench { drift, ..self } } else { self }
    }

    /// Takes the barometer's standard uncertainty, as [`crate::air::Barometer::uncertainty`] gives it.
    pub fn with_barometer_uncertainty(self, barometer_uncertainty: Pressure) -> Bench {
        Bench { barometer_uncertainty, ..self }
    }

    /// Takes the standard uncertainty of the air's temperature in K, as [`crate::air::AirTemperature`] gives it.
    pub(crate) fn with_temperature_uncertainty(self, temperature_uncertainty: f64) -> Bench {
        Bench { temperature_uncertainty, ..self }
    }
}

/// What is known of a circuit besides its readings.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Context {
    /// What the leak is, where somebody says so.
    pub kind: Option<LeakKind>,
    /// The land that seals it.
    pub land: Option<Land>,
    /// The oil it works with.
    pub oil: Option<OilState>,
}

impl Context {
    /// Returns what the leak is, as far as is known: around a land it is a gap unless something else is said.
    pub fn kind(&self) -> Option<LeakKind> {
        self.kind.or(self.land.map(|_| LeakKind::Gap))
    }
}

/// The oil of a circuit at work.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(try_from = "OilParts")]
pub struct OilState {
    oil: Oil,
    #[serde(rename = "pressure_pa")]
    pressure: Pressure,
    #[serde(rename = "temperature_k")]
    temperature: Temperature,
    #[serde(rename = "pump_delivery_m3_s")]
    pump_delivery: Option<VolumeFlow>,
    #[serde(skip_serializing)]
    viscosity: f64,
    #[serde(skip_serializing)]
    density: f64,
}

#[derive(Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
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
        let viscosity = oil.dynamic_viscosity(temperature).map_err(ContextError::Oil)?;
        let density = oil.density(temperature).si();
        Ok(OilState { oil, pressure, temperature, pump_delivery, viscosity, density })
    }

    /// Returns the oil.
    pub fn oil(&self) -> &Oil {
        &self.oil
    }

    /// Returns the working pressure across the leak.
    pub fn pressure(&self) -> Pressure {
        self.pressure
    }

    /// Returns the temperature of the oil.
    pub fn temperature(&self) -> Temperature {
        self.temperature
    }

    /// Returns what the pump delivers, where known.
    pub fn pump_delivery(&self) -> Option<VolumeFlow> {
        self.pump_delivery
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

/// Why what is said of a circuit cannot be.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum ContextError {
    /// The bore is not between 1 and 200 mm.
    #[error("a bore of {0} is not that of a valve (0.04 to 7.9 in); measure it again")]
    Diameter(Length),
    /// The land is not between 0.1 and 200 mm long.
    #[error("a land {0} long is not that of a valve (0.004 to 7.9 in); measure it again")]
    Length(Length),
    /// The eccentricity is not between 0 (centred) and 1 (touching).
    #[error("an eccentricity of {0} cannot be; give 0 for centred, 1 for touching, or between")]
    Eccentricity(f64),
    #[error("{0} lands in a row are not those of one valve; give 1 to 9")]
    Lands(u32),
    #[error("a thermal expansion of {:.1} millionths per kelvin is not that of a metal or plastic (0 to 200)", .0 * 1e6)]
    Expansion(f64),
    /// The working pressure is not between 1 kPa and 10 MPa.
    #[error("a working pressure of {0} is not that of a transmission; check its unit")]
    Pressure(Pressure),
    #[error("the pump's delivery must be above 0; leave it out if unknown")]
    Delivery(VolumeFlow),
    #[error("{0}")]
    Oil(OilError),
}
