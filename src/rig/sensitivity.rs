use super::{Calibration, ReadingError};
use crate::air::{flow_function, opening_ratio, opening_slope};
use crate::quantity::Pressure;

/// First derivatives of a figure that is made of the reading, the two calibration readings and the barometer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensitivity {
    /// The figure itself: the derivative by a relative error of its scale.
    pub value: f64,
    /// Derivative by the reading, per Pa; negative.
    pub by_reading: f64,
    /// Derivative by the plugged reading, per Pa.
    pub by_plugged: f64,
    /// Derivative by the reading through the orifice, per Pa.
    pub by_through: f64,
    /// Derivative by a relative error that all three share: a gauge's gain.
    pub by_gain: f64,
    /// Derivative by a relative error of the barometer.
    pub by_barometer: f64,
}

impl Sensitivity {
    /// Returns the derivative by an error that all three readings share: a gauge's offset, per Pa.
    pub fn by_offset(&self) -> f64 {
        self.by_reading + self.by_plugged + self.by_through
    }

    /// Returns the derivatives multiplied by a factor: those of another figure proportional to this one.
    pub fn scaled(&self, factor: f64) -> Sensitivity {
        Sensitivity {
            value: self.value * factor,
            by_reading: self.by_reading * factor,
            by_plugged: self.by_plugged * factor,
            by_through: self.by_through * factor,
            by_gain: self.by_gain * factor,
            by_barometer: self.by_barometer * factor,
        }
    }

    /// Returns what each error weighs as an error of the reading, in Pa of reading.
    pub fn referred_to_reading(&self) -> Sensitivity {
        self.scaled(1.0 / self.by_reading.abs())
    }
}

/// What a figure has besides the circuit's area: a factor, its logarithmic derivative by the reading, and the power of
/// the barometer in it once readings are counted in barometers.
struct Factor {
    value: f64,
    log_slope: f64,
    power: f64,
}

impl Calibration {
    /// Returns how fast [`Calibration::area_at`] falls with the reading, per Pa; positive.
    pub fn area_slope(&self, reading: Pressure) -> Result<f64, ReadingError> {
        let barometer = self.barometer().si();
        opening_slope(reading.si() / barometer)
            .map(|slope| slope * self.inlet_relative() / barometer)
            .ok_or(ReadingError::Zero)
    }

    /// Returns the derivatives of the circuit's effective area: [`Calibration::area_at`] times that of the orifice.
    pub fn area_sensitivity(&self, reading: Pressure) -> Result<Sensitivity, ReadingError> {
        self.sensitivity(reading, Factor { value: 1.0, log_slope: 0.0, power: 0.0 })
    }

    /// Returns the derivatives of [`Calibration::leak_at`].
    pub fn leak_sensitivity(&self, reading: Pressure) -> Result<Sensitivity, ReadingError> {
        let log_slope = self.coefficient_log_slope(reading);
        self.sensitivity(reading, Factor { value: self.coefficient_ratio(reading), log_slope, power: 0.0 })
    }

    /// Returns the derivatives of the air flow, m sqrt(R T) over the orifice's effective area, in Pa.
    pub fn flow_sensitivity(&self, reading: Pressure) -> Result<Sensitivity, ReadingError> {
        let (phi, log_slope) = self.flow_factor(reading)?;
        self.sensitivity(reading, Factor { value: phi * self.barometer().si(), log_slope, power: 1.0 })
    }

    /// Returns the derivatives of the air flow over P^2 - p^2, what a laminar gap makes of it, per Pa.
    pub fn gap_sensitivity(&self, reading: Pressure) -> Result<Sensitivity, ReadingError> {
        let (phi, log_slope) = self.flow_factor(reading)?;
        let (room, vacuum) = (self.barometer().si(), reading.si());
        let squares = vacuum * (2.0 * room - vacuum);
        let log_slope = log_slope - 2.0 * (room - vacuum) / squares;
        self.sensitivity(reading, Factor { value: phi * room / squares, log_slope, power: -1.0 })
    }

    /// Phi(x), and d(ln Phi)/dv from Phi = x Phi* / g(x).
    fn flow_factor(&self, reading: Pressure) -> Result<(f64, f64), ReadingError> {
        let (room, ratio) = (self.barometer().si(), self.ratio(reading));
        let depth = reading.si() / room;
        let (Some(phi), Some(g), Some(slope)) =
            (flow_function(ratio), opening_ratio(depth), opening_slope(depth))
        else {
            return Err(ReadingError::Zero);
        };
        Ok((phi, (slope / g - 1.0 / ratio) / room))
    }

    /// -d(ln C_d)/dv of the orifice at a reading.
    fn coefficient_log_slope(&self, reading: Pressure) -> f64 {
        let (kind, ratio) = (self.orifice().kind(), self.ratio(reading));
        kind.coefficient_slope(ratio) / kind.coefficient(ratio) / self.barometer().si()
    }

    fn sensitivity(&self, reading: Pressure, factor: Factor) -> Result<Sensitivity, ReadingError> {
        let area = self.area_at(reading)?;
        let value = area * factor.value;
        let by_reading = value * factor.log_slope - self.area_slope(reading)? * factor.value;
        let by_plugged = (1.0 - area) * self.area_slope(self.plugged())? * factor.value;
        let by_through =
            value * (self.area_slope(self.through())? - self.coefficient_log_slope(self.through()));
        let by_gain =
            by_reading * reading.si() + by_plugged * self.plugged().si() + by_through * self.through().si();
        let by_barometer = value * factor.power - by_gain;
        Ok(Sensitivity { value, by_reading, by_plugged, by_through, by_gain, by_barometer })
    }
}
