use clap::Args;

use super::quantities::{elevation, vacuum};
use super::status::Failure;
use crate::air::{Barometer, BarometerSource};
use crate::quantity::{Length, Pressure};

/// The air at the bench: the barometer's own reading, or the elevation, alone or with a weather report's figure; without
/// any 101 325 Pa.
#[derive(Debug, Default, Args)]
pub(super) struct AirArguments {
    /// The barometer at the bench, not reduced to sea level, as in 29.1inHg
    #[arg(long, value_name = "P", value_parser = vacuum, conflicts_with_all = ["elevation", "altimeter"])]
    barometer: Option<Pressure>,
    /// The elevation of the bench, as in 5280ft or 1610m
    #[arg(long, value_name = "H", value_parser = elevation, allow_hyphen_values = true)]
    elevation: Option<Length>,
    /// The barometer of a weather report, reduced to sea level (altimeter setting); it needs the elevation
    #[arg(long, value_name = "P", value_parser = vacuum, requires = "elevation")]
    altimeter: Option<Pressure>,
}

impl AirArguments {
    /// Returns whether anything is said of the air.
    pub(super) fn is_given(&self) -> bool {
        self.barometer.or(self.altimeter).is_some() || self.elevation.is_some()
    }

    /// Returns the barometer that the flags describe.
    pub(super) fn barometer(&self) -> Result<Barometer, Failure> {
        let source = match (self.barometer, self.elevation, self.altimeter) {
            (Some(pressure), _, _) => BarometerSource::Station { pressure },
            (None, Some(elevation), Some(setting)) => {
                BarometerSource::AltimeterSetting { setting, elevation }
            }
            (None, Some(elevation), None) => BarometerSource::Elevation { elevation },
            (None, None, _) => BarometerSource::Standard,
        };
        Barometer::new(source).map_err(Failure::wrong)
    }
}
