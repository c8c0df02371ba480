use std::fmt;

use super::{Calibration, Condition};
use crate::quantity::Pressure;

/// A check of a calibrated rig: one of its two readings taken again, with the valves as they were.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct DriftCheck {
    pub condition: Condition,
    pub expected: Pressure,
    pub reading: Pressure,
    pub tolerance: Pressure,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct CheckInterval {
    pub readings: u32,
    pub seconds: f64,
}

impl DriftCheck {
    /// Sets a check against the calibration in force; the air may weigh otherwise than it did then.
    ///
    /// With untouched valves the pressure ratio stays, so what the rig should show goes with the barometer.
    pub(crate) fn of(
        calibration: &Calibration,
        condition: Condition,
        reading: Pressure,
        barometer: Pressure,
        tolerance: Pressure,
    ) -> DriftCheck {
        let then = match condition {
            Condition::Through => calibration.through(),
            Condition::Plugged | Condition::OtherPlug | Condition::Capped | Condition::Open => {
                calibration.plugged()
            }
        };
        let ratio = barometer.si() / calibration.barometer().si();
        let expected = Pressure::from_si(then.si() * ratio).unwrap_or(then);
        DriftCheck { condition, expected, reading, tolerance }
    }

    /// Returns by how much the rig shows too much; negative where it shows too little.
    pub(crate) fn drift(&self) -> Pressure {
        Pressure::from_si(self.reading.si() - self.expected.si()).unwrap_or(self.reading)
    }

    /// Returns whether the rig is still in calibration, to the last bit of rounding.
    pub(crate) fn is_good(&self) -> bool {
        self.drift().si().abs() <= self.tolerance.si() * (1.0 + 1e-9)
    }
}

impl fmt::Display for DriftCheck {
    /// Writes what was found and what to do, in whole sentences.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let DriftCheck { condition, expected, reading, tolerance } = self;
        write!(f, "The rig shows {reading} {condition} where it should show {expected}: ")?;
        if self.is_good() {
            write!(f, "it has not drifted by more than {tolerance}.")
        } else {
            write!(
                f,
                "it has drifted by more than {tolerance}. Calibrate again; every reading since the last good check is \
                 then taken again."
            )
        }
    }
}

impl CheckInterval {
    /// Returns whether a check is due, so many readings and seconds after the last one or the calibration.
    pub(crate) fn is_due(&self, readings: u32, seconds: f64) -> bool {
        readings >= self.readings || seconds >= self.seconds
    }
}
