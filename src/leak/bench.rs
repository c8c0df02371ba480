use std::fmt;

use serde::{Deserialize, Serialize};

use crate::quantity::Pressure;
use crate::rig::{Calibration, Dial};

/// A calibrated rig with what is known of its errors.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bench {
    calibration: Calibration,
    dial: Dial,
    repeatability_pa: Pressure,
    drift_pa: Pressure,
    barometer_uncertainty_pa: Pressure,
}

/// Why a figure of a bench cannot be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BenchError {
    /// The repeatability is negative or over a fifth of the dial.
    Repeatability(Pressure),
    /// The drift is negative or over a fifth of the dial.
    Drift(Pressure),
    /// The barometer's uncertainty is negative or over 5 kPa.
    Barometer(Pressure),
}

impl fmt::Display for BenchError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            BenchError::Repeatability(figure) => write!(
                f,
                "a repeatability of {figure} does not fit the dial; give the standard deviation of readings of one circuit"
            ),
            BenchError::Drift(figure) => {
                write!(f, "a drift of {figure} does not fit the dial; give how far a check may be off")
            }
            BenchError::Barometer(figure) => {
                write!(f, "a barometer uncertain by {figure} is no barometer; give its standard uncertainty")
            }
        }
    }
}

impl std::error::Error for BenchError {}

impl Bench {
    /// Makes a bench whose repeatability is the usual one: a standard deviation of a quarter of the dial's smallest
    /// division (common practice, no source). No drift is allowed for, and the barometer is a good one (100 Pa).
    pub fn new(calibration: Calibration, dial: Dial) -> Bench {
        Bench {
            calibration,
            dial,
            repeatability_pa: Pressure::constant(dial.smallest_division().si() / 4.0),
            drift_pa: Pressure::constant(0.0),
            barometer_uncertainty_pa: Pressure::constant(100.0),
        }
    }

    /// Takes a repeatability found on this bench: the standard deviation of single readings of one state.
    pub fn with_repeatability(self, repeatability: Pressure) -> Result<Bench, BenchError> {
        let fits = self.fits_dial(repeatability);
        fits.then_some(Bench { repeatability_pa: repeatability, ..self })
            .ok_or(BenchError::Repeatability(repeatability))
    }

    /// Allows for a drift of the rig since its calibration, up to this either way: the tolerance of drift checks.
    pub fn with_drift(self, drift: Pressure) -> Result<Bench, BenchError> {
        let fits = self.fits_dial(drift);
        fits.then_some(Bench { drift_pa: drift, ..self }).ok_or(BenchError::Drift(drift))
    }

    /// Takes the barometer's standard uncertainty, as [`crate::air::Barometer::uncertainty`] gives it.
    pub fn with_barometer_uncertainty(self, uncertainty: Pressure) -> Result<Bench, BenchError> {
        let fits = (0.0..=5e3).contains(&uncertainty.si());
        fits.then_some(Bench { barometer_uncertainty_pa: uncertainty, ..self })
            .ok_or(BenchError::Barometer(uncertainty))
    }

    fn fits_dial(&self, figure: Pressure) -> bool {
        (0.0..=self.dial.span().si() / 5.0).contains(&figure.si())
    }

    /// Returns the calibration.
    pub fn calibration(&self) -> &Calibration {
        &self.calibration
    }

    /// Returns the dial.
    pub fn dial(&self) -> &Dial {
        &self.dial
    }

    /// Returns the standard deviation of a single reading.
    pub fn repeatability(&self) -> Pressure {
        self.repeatability_pa
    }

    /// Returns the drift allowed for, either way.
    pub fn drift(&self) -> Pressure {
        self.drift_pa
    }

    /// Returns the standard uncertainty of the station pressure.
    pub fn barometer_uncertainty(&self) -> Pressure {
        self.barometer_uncertainty_pa
    }
}
