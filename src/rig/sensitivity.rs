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
