use std::fmt;

use crate::oil::OilError;
use crate::quantity::{Length, Pressure, VolumeFlow};

/// Why what is said of a circuit cannot be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ContextError {
    /// The bore is not between 1 and 200 mm.
    Diameter(Length),
    /// The land is not between 0.1 and 200 mm long.
    Length(Length),
    /// The eccentricity is not between 0 (centred) and 1 (touching).
    Eccentricity(f64),
    /// The working pressure is not between 1 kPa and 10 MPa.
    Pressure(Pressure),
    /// The pump's delivery is not positive.
    Delivery(VolumeFlow),
    /// The oil has no viscosity at this temperature.
    Oil(OilError),
}

impl fmt::Display for ContextError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ContextError::Diameter(diameter) => {
                write!(f, "a bore of {diameter} is not that of a valve (0.04 to 7.9 in); measure it again")
            }
            ContextError::Length(length) => {
                write!(f, "a land {length} long is not that of a valve (0.004 to 7.9 in); measure it again")
            }
            ContextError::Eccentricity(eccentricity) => {
                write!(
                    f,
                    "an eccentricity of {eccentricity} cannot be; give 0 for centred, 1 for touching, or between"
                )
            }
            ContextError::Pressure(pressure) => {
                write!(f, "a working pressure of {pressure} is not that of a transmission; check its unit")
            }
            ContextError::Delivery(_) => {
                f.write_str("the pump's delivery must be above 0; leave it out if unknown")
            }
            ContextError::Oil(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for ContextError {}
