use std::fmt;

use crate::quantity::Pressure;

/// Why a reading cannot be turned into a leak.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ReadingError {
    /// No reading was given.
    None,
    /// The gauge showed pressure instead of vacuum.
    Negative(Pressure),
    /// The gauge showed nothing.
    Zero,
    /// The reading is deeper than the rig pulls with its hose plugged.
    AbovePlugged {
        /// The reading.
        reading: Pressure,
        /// The plugged point of the calibration.
        plugged: Pressure,
    },
    /// A leak, in test orifices, is negative or not a number.
    Leak,
}

impl fmt::Display for ReadingError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ReadingError::None => f.write_str("there is no reading; take one"),
            ReadingError::Negative(reading) => write!(
                f,
                "a reading of {reading} is a pressure, not a vacuum; check the gauge's zero and type vacuum without a sign"
            ),
            ReadingError::Zero => f.write_str(
                "a reading of 0 means that the circuit takes more air than the rig can show; \
                 check that the hose is on, the pump runs and the circuit is closed, and read again",
            ),
            ReadingError::AbovePlugged { reading, plugged } => write!(
                f,
                "a reading of {reading} is above the plugged point ({plugged}); \
                 the rig has drifted or the reading is wrong: plug the hose, check the calibration and read again"
            ),
            ReadingError::Leak => {
                f.write_str("a leak cannot be negative; give the hole or the leak as 0 or more")
            }
        }
    }
}

impl std::error::Error for ReadingError {}
