use std::fmt;

use serde::{Deserialize, Serialize};

use super::{STANDARD_PRESSURE, standard_atmosphere, station_pressure};
use crate::quantity::{Length, Pressure};

/// Where the barometer's figure comes from, as it was entered.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum BarometerSource {
    /// A barometer in the room.
    Station {
        /// Absolute pressure of the air around the rig.
        #[serde(rename = "pressure_pa")]
        pressure: Pressure,
    },
    /// A weather report's figure, which is reduced to sea level.
    AltimeterSetting {
        /// The figure of the report.
        #[serde(rename = "setting_pa")]
        setting: Pressure,
        /// Elevation of the shop.
        #[serde(rename = "elevation_m")]
        elevation: Length,
    },
    /// No barometer: the standard atmosphere at the shop's elevation.
    Elevation {
        /// Elevation of the shop.
        #[serde(rename = "elevation_m")]
        elevation: Length,
    },
    /// Nothing known: 101 325 Pa.
    Standard,
}

/// The pressure of the air around the rig, with where it comes from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "BarometerSource", into = "BarometerSource")]
pub struct Barometer {
    source: BarometerSource,
    station: Pressure,
}

/// Why a barometer's figure cannot be used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BarometerError {
    /// No shop on earth has this pressure around it.
    Pressure(Pressure),
    /// No shop stands at this elevation.
    Elevation(Length),
    /// No weather report gives this altimeter setting.
    Setting(Pressure),
}

impl fmt::Display for BarometerError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            BarometerError::Pressure(pressure) => write!(
                f,
                "{pressure} is not an air pressure found in a shop (13.3 to 32.5 inHg); \
                 give the barometer's absolute reading, not a vacuum"
            ),
            BarometerError::Elevation(elevation) => write!(
                f,
                "{:.0} m is not the elevation of a shop (-500 to 6000 m); check the unit",
                elevation.si()
            ),
            BarometerError::Setting(setting) => write!(
                f,
                "{setting} is not an altimeter setting (25 to 32.5 inHg); \
                 a barometer in the room is entered without the elevation"
            ),
        }
    }
}

impl std::error::Error for BarometerError {}

impl Barometer {
    /// Nothing known: 101 325 Pa.
    pub const STANDARD: Barometer =
        Barometer { source: BarometerSource::Standard, station: Pressure::constant(STANDARD_PRESSURE) };

    /// Makes the station pressure from what was entered.
    ///
    /// Accepts station pressures of 45 to 110 kPa, altimeter settings of 84 to 110 kPa and elevations of -500 to 6000 m.
    pub fn new(source: BarometerSource) -> Result<Barometer, BarometerError> {
        let station = match source {
            BarometerSource::Station { pressure } => pressure.si(),
            BarometerSource::AltimeterSetting { setting, elevation } => {
                let usual = (84e3..=110e3).contains(&setting.si());
                let setting = usual.then_some(setting.si()).ok_or(BarometerError::Setting(setting))?;
                station_pressure(setting, inhabited(elevation)?)
                    .ok_or(BarometerError::Elevation(elevation))?
            }
            BarometerSource::Elevation { elevation } => {
                standard_atmosphere(inhabited(elevation)?).ok_or(BarometerError::Elevation(elevation))?
            }
            BarometerSource::Standard => STANDARD_PRESSURE,
        };
        let pressure = Pressure::from_si(station).unwrap_or(Pressure::constant(0.0));
        if (45e3..=110e3).contains(&station) {
            Ok(Barometer { source, station: pressure })
        } else {
            Err(BarometerError::Pressure(pressure))
        }
    }

    /// Returns the absolute pressure of the air around the rig.
    pub fn station(&self) -> Pressure {
        self.station
    }

    /// Returns what was entered, with its kind.
    pub fn source(&self) -> BarometerSource {
        self.source
    }

    /// Returns the standard uncertainty of the station pressure.
    ///
    /// Common practice, no source: 100 Pa for a barometer in the room, 150 Pa for a weather report carried to the
    /// shop's elevation, 1000 Pa (the weather's own scatter) where only the elevation or nothing is known.
    pub fn uncertainty(&self) -> Pressure {
        Pressure::constant(match self.source {
            BarometerSource::Station { .. } => 100.0,
            BarometerSource::AltimeterSetting { .. } => 150.0,
            BarometerSource::Elevation { .. } | BarometerSource::Standard => 1000.0,
        })
    }
}

fn inhabited(elevation: Length) -> Result<f64, BarometerError> {
    let metres = elevation.si();
    (-500.0..=6000.0).contains(&metres).then_some(metres).ok_or(BarometerError::Elevation(elevation))
}

impl TryFrom<BarometerSource> for Barometer {
    type Error = BarometerError;

    fn try_from(source: BarometerSource) -> Result<Barometer, BarometerError> {
        Barometer::new(source)
    }
}

impl From<Barometer> for BarometerSource {
    fn from(barometer: Barometer) -> BarometerSource {
        barometer.source
    }
}
