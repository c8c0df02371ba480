use libm::pow;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::quantity::{Length, Pressure};

/// Where the barometer's figure comes from, as it was entered.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
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
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(try_from = "BarometerSource", into = "BarometerSource")]
pub struct Barometer {
    source: BarometerSource,
    station: Pressure,
}

/// Why a barometer's figure cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum BarometerError {
    #[error(
        "{0} is not an air pressure found in a shop (13.3 to 32.5 inHg); give the barometer's absolute \
         reading, not a vacuum"
    )]
    Pressure(Pressure),
    #[error(
        "{:.0} m ({:.0} ft) is not the elevation of a shop (-500 to 6000 m, -1640 to 19685 ft); check the unit",
        .0.si(), .0.si() / FOOT
    )]
    Elevation(Length),
    #[error(
        "{0} is not an altimeter setting (25 to 32.5 inHg); a barometer in the room is entered without the \
         elevation"
    )]
    Setting(Pressure),
}

/// A foot in metres (NIST SP 811).
const FOOT: f64 = 0.3048;

/// The station pressures of nearly all shops, in Pa: from some 10 500 ft up the air is thinner, and hardly any weather
/// makes it denser (common practice, no source).
const USUAL: std::ops::RangeInclusive<f64> = 68e3..=106e3;

/// The lowest and the highest air pressure that was measured on earth, reduced to sea level, in Pa: 870 hPa in a
/// typhoon (1979) and 1089.4 hPa in an anticyclone (2004), as the archive of extremes of the World Meteorological
/// Organization has them.
const RECORDS: std::ops::RangeInclusive<f64> = 870e2..=1089.4e2;

impl Barometer {
    /// Nothing known: 101 325 Pa.
    pub const STANDARD: Barometer =
        Barometer { source: BarometerSource::Standard, station: Pressure::constant(STANDARD_PRESSURE) };

    /// Makes the station pressure from what was entered.
    ///
    /// Accepts station pressures of 45 to 110 kPa, altimeter settings of 84 to 110 kPa and
    /// elevations of -500 to 6000 m.
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

    /// Returns whether it was entered as a barometer's reading that hardly any shop has.
    pub(crate) fn is_doubtful(&self) -> bool {
        matches!(self.source, BarometerSource::Station { .. }) && !USUAL.contains(&self.station.si())
    }

    /// Returns whether it is not what stands at this elevation: 4 % or more from the standard atmosphere, which is more
    /// than the weather makes of it on all but rare days (common practice, no source).
    pub(crate) fn contradicts(&self, elevation: Length) -> bool {
        self.over_usual(elevation).is_some_and(|ratio| (ratio - 1.0).abs() >= 0.04)
    }

    /// Returns whether no weather makes that of the air at this elevation: it is further from the standard atmosphere
    /// than any air pressure that was ever measured, reduced to sea level ([`RECORDS`]).
    pub(crate) fn is_impossible(&self, elevation: Length) -> bool {
        self.over_usual(elevation).is_some_and(|ratio| !RECORDS.contains(&(ratio * STANDARD_PRESSURE)))
    }

    /// Returns it over what the standard atmosphere has at this elevation.
    fn over_usual(&self, elevation: Length) -> Option<f64> {
        let there = Barometer::new(BarometerSource::Elevation { elevation }).ok()?;
        Some(self.station.si() / there.station().si())
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

/// Standard pressure at sea level in Pa (U.S. Standard Atmosphere 1976).
pub(crate) const STANDARD_PRESSURE: f64 = 101_325.0;

/// Standard temperature at sea level in K (U.S. Standard Atmosphere 1976).
const STANDARD_TEMPERATURE: f64 = 288.15;

const LAPSE_RATE: f64 = 0.0065;

/// g0 M0 / (R* L) with the constants of the U.S. Standard Atmosphere 1976.
const EXPONENT: f64 = 9.806_65 * 28.9644 / (8314.32 * LAPSE_RATE);

/// Returns the pressure of the standard atmosphere in Pa at a geopotential elevation in m.
///
/// U.S. Standard Atmosphere 1976, equation 33a. Valid from -2000 m to 11 000 m, elsewhere there is no answer.
/// Elevations of places are geometric; up to 3700 m the pressure at the geopotential elevation is at most 0.03 % lower.
pub(crate) fn standard_atmosphere(elevation: f64) -> Option<f64> {
    let valid = (-2000.0..=11_000.0).contains(&elevation);
    valid.then(|| STANDARD_PRESSURE * pow(1.0 - LAPSE_RATE * elevation / STANDARD_TEMPERATURE, EXPONENT))
}

/// Returns the station pressure in Pa from an altimeter setting in Pa and the elevation of the station in m.
///
/// The inverse of the altimeter-setting formula of the U.S. National Weather Service: with n = 0.190284 and
/// k = 1013.25^n 0.0065/288, P = (A^n - k h)^(1/n) + 0.3 hPa. There is no answer where the setting is not positive or
/// the elevation lies above the top of that atmosphere.
pub(crate) fn station_pressure(altimeter_setting: f64, elevation: f64) -> Option<f64> {
    const N: f64 = 0.190_284;
    if !(altimeter_setting > 0.0 && elevation.is_finite()) {
        return None;
    }
    let slope = pow(1013.25, N) * LAPSE_RATE / 288.0;
    let base = pow(altimeter_setting / 100.0, N) - slope * elevation;
    (base > 0.0).then(|| 100.0 * (pow(base, 1.0 / N) + 0.3)).filter(|pressure| pressure.is_finite())
}
