use std::fmt;

use crate::quantity::{Pressure, Temperature};

/// Why two readings are not a calibration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CalibrationError {
    /// The barometer is outside 45 to 110 kPa.
    Barometer(Pressure),
    /// The temperature is outside -40 to 60 °C.
    Temperature(Temperature),
    /// The plugged reading shows no vacuum.
    PluggedNotPositive(Pressure),
    /// The through reading shows no vacuum.
    ThroughNotPositive(Pressure),
    /// The plugged reading is deeper than the air around it allows.
    DeeperThanBarometer {
        /// The plugged reading.
        plugged: Pressure,
        /// The barometer.
        barometer: Pressure,
    },
    /// The reading through the orifice is not below the plugged one.
    PluggedNotAboveThrough {
        /// The plugged reading.
        plugged: Pressure,
        /// The reading through the orifice.
        through: Pressure,
    },
    /// The pump that the rig is said to have cannot have pulled the two readings, however far the inlet valve is open.
    PumpContradicted,
}

impl fmt::Display for CalibrationError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            CalibrationError::Barometer(barometer) => {
                write!(
                    f,
                    "a barometer of {barometer} is not an air pressure found in a shop; read it again in absolute pressure"
                )
            }
            CalibrationError::Temperature(temperature) => {
                write!(
                    f,
                    "{temperature} is not the temperature of a shop (-40 to 60 °C); read the thermometer again"
                )
            }
            CalibrationError::PluggedNotPositive(plugged) => write!(
                f,
                "the plugged reading is {plugged}; start the pump, open the inlet valve, plug the hose end and read again"
            ),
            CalibrationError::ThroughNotPositive(through) => write!(
                f,
                "the reading through the orifice is {through}; fit the orifice to the hose end and read again"
            ),
            CalibrationError::DeeperThanBarometer { plugged, barometer } => write!(
                f,
                "a plugged reading of {plugged} is deeper than the barometer's {barometer} allows; \
                 check the gauge's zero, and that the barometer is the station pressure"
            ),
            CalibrationError::PluggedNotAboveThrough { plugged, through } => write!(
                f,
                "the plugged reading ({plugged}) must be above the reading through the orifice ({through}); \
                 check that the hose was really plugged and that the two were not swapped"
            ),
            CalibrationError::PumpContradicted => f.write_str(
                "the pump that is entered for this rig cannot have pulled these readings; measure it again, bleed valve \
                 shut and inlet valve open, and enter it: spoolproof rig set --pump-plugged V --pump-through V",
            ),
        }
    }
}

impl std::error::Error for CalibrationError {}
