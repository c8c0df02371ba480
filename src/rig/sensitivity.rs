use super::{Calibration, ReadingError};
use crate::air::opening_slope;
use crate::quantity::Pressure;

/// First derivatives of a leak, each over the derivative by the reading: what an error elsewhere weighs as an error of
/// the reading itself.
///
/// From leak = (g(x) - g(x_b)) / (g(x_o) - g(x_b)) times C_d(x_o)/C_d(x) for a plate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensitivity {
    /// Weight of an error of the plugged reading.
    pub plugged: f64,
    /// Weight of an error of the reading through the orifice.
    pub through: f64,
    /// Weight of an error that all three share: what is left of a gauge's offset.
    pub offset: f64,
    /// Pa for each unit of an error proportional to the three readings, or inversely to the barometer: what is left
    /// of a gauge's gain.
    pub gain: f64,
    /// Pa for each unit of a relative error of the leak.
    pub scale: f64,
}

impl Calibration {
    /// Returns the weights for the circuit's effective area: [`Calibration::area_at`] times that of the orifice.
    pub fn area_sensitivity(&self, reading: Pressure) -> Result<Sensitivity, ReadingError> {
        self.sensitivity(reading, 0.0)
    }

    /// Returns the weights for [`Calibration::leak_at`].
    pub fn leak_sensitivity(&self, reading: Pressure) -> Result<Sensitivity, ReadingError> {
        self.sensitivity(reading, self.log_slope(reading))
    }

    /// Returns how fast [`Calibration::area_at`] falls with the reading, per Pa; positive.
    pub fn area_slope(&self, reading: Pressure) -> Result<f64, ReadingError> {
        let barometer = self.barometer().si();
        opening_slope(reading.si() / barometer)
            .map(|slope| slope * self.inlet_relative() / barometer)
            .ok_or(ReadingError::Zero)
    }

    /// d(ln C_d)/dx of the orifice at a reading.
    fn log_slope(&self, reading: Pressure) -> f64 {
        let (kind, ratio) = (self.orifice().kind(), self.ratio(reading));
        kind.coefficient_slope(ratio) / kind.coefficient(ratio)
    }

    /// The slopes below are those of the area by falling readings, per Pa; `log_slope` is d(ln C_d)/dx at the reading.
    fn sensitivity(&self, reading: Pressure, log_slope: f64) -> Result<Sensitivity, ReadingError> {
        let area = self.area_at(reading)?;
        let barometer = self.barometer().si();
        let by_reading = self.area_slope(reading)? - area * log_slope / barometer;
        let by_plugged = (1.0 - area) * self.area_slope(self.plugged())?;
        let by_through =
            area * (self.area_slope(self.through())? - self.log_slope(self.through()) / barometer);
        let (plugged, through) = (-by_plugged / by_reading, -by_through / by_reading);
        Ok(Sensitivity {
            plugged,
            through,
            offset: 1.0 + plugged + through,
            gain: reading.si() + plugged * self.plugged().si() + through * self.through().si(),
            scale: area / by_reading,
        })
    }
}
