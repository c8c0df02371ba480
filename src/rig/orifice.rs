use std::f64::consts::PI;
use std::fmt;

use serde::{Deserialize, Serialize};

use super::STANDARD_ORIFICE;
use crate::air::{PLUG_COEFFICIENT, plate_coefficient, plate_slope};
use crate::quantity::{INCH, Length};

/// How the hole of a test orifice is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OrificeKind {
    /// Drilled through something at least as thick as the hole is wide.
    Plug,
    /// Drilled through a thin, sharp-edged sheet.
    Plate,
}

impl OrificeKind {
    /// Returns the discharge coefficient at a pressure ratio between 0 and 1.
    pub fn coefficient(self, ratio: f64) -> f64 {
        match self {
            OrificeKind::Plug => PLUG_COEFFICIENT,
            OrificeKind::Plate => plate_coefficient(ratio),
        }
    }

    /// Returns the slope of the coefficient over the pressure ratio.
    pub fn coefficient_slope(self, ratio: f64) -> f64 {
        match self {
            OrificeKind::Plug => 0.0,
            OrificeKind::Plate => plate_slope(ratio),
        }
    }
}

/// The test orifice of a rig.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Parts", into = "Parts")]
pub struct Orifice {
    diameter: Length,
    kind: OrificeKind,
    tolerance: Length,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Parts {
    diameter_m: Length,
    kind: OrificeKind,
    tolerance_m: Length,
}

/// Why an orifice cannot be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OrificeError {
    /// The hole is not between 0.1 and 10 mm wide.
    Diameter(Length),
    /// The tolerance is negative or over a quarter of the hole.
    Tolerance(Length),
}

impl fmt::Display for OrificeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            OrificeError::Diameter(diameter) => write!(
                f,
                "a test orifice of {diameter} cannot be used (0.004 to 0.4 in); \
                 give the size of the drill it was made with"
            ),
            OrificeError::Tolerance(tolerance) => write!(
                f,
                "a tolerance of {tolerance} does not fit the orifice; give what its hole may differ from its size"
            ),
        }
    }
}

impl std::error::Error for OrificeError {}

impl Orifice {
    /// The usual shop orifice: a plug of 0.035 in (drill #65).
    pub const STANDARD: Orifice =
        Orifice { diameter: STANDARD_ORIFICE, kind: OrificeKind::Plug, tolerance: DRILL_TOLERANCE };

    /// Makes an orifice of a bore between 0.1 and 10 mm, with the tolerance of a drilled hole.
    pub fn new(diameter: Length, kind: OrificeKind) -> Result<Orifice, OrificeError> {
        let tolerance = Length::constant(DRILL_TOLERANCE.si().min(diameter.si().abs() / 4.0));
        Orifice::with_tolerance(diameter, kind, tolerance)
    }

    /// Makes an orifice whose bore is known within a tolerance either way, at most a quarter of the bore.
    pub fn with_tolerance(
        diameter: Length,
        kind: OrificeKind,
        tolerance: Length,
    ) -> Result<Orifice, OrificeError> {
        if !(1e-4..=1e-2).contains(&diameter.si()) {
            return Err(OrificeError::Diameter(diameter));
        }
        if !(0.0..=diameter.si() / 4.0).contains(&tolerance.si()) {
            return Err(OrificeError::Tolerance(tolerance));
        }
        Ok(Orifice { diameter, kind, tolerance })
    }

    /// Returns the bore.
    pub fn diameter(&self) -> Length {
        self.diameter
    }

    /// Returns how the hole is made.
    pub fn kind(&self) -> OrificeKind {
        self.kind
    }

    /// Returns how far the bore may be off, either way.
    pub fn tolerance(&self) -> Length {
        self.tolerance
    }

    /// Returns the geometric area of the bore in m2.
    pub fn area(&self) -> f64 {
        PI / 4.0 * self.diameter.si() * self.diameter.si()
    }

    /// Returns the effective area (coefficient times area) in m2 at a pressure ratio.
    pub fn effective_area(&self, ratio: f64) -> f64 {
        self.kind.coefficient(ratio) * self.area()
    }

    /// Returns the effective area at a pressure ratio over that of the standard rig's orifice.
    pub fn relative_to_standard(&self, ratio: f64) -> f64 {
        self.effective_area(ratio) / Orifice::STANDARD.effective_area(ratio)
    }
}

/// How far a small drilled hole is off its size: 0.0005 in; common practice, no source.
const DRILL_TOLERANCE: Length = Length::constant(0.0005 * INCH);

impl TryFrom<Parts> for Orifice {
    type Error = OrificeError;

    fn try_from(parts: Parts) -> Result<Orifice, OrificeError> {
        Orifice::with_tolerance(parts.diameter_m, parts.kind, parts.tolerance_m)
    }
}

impl From<Orifice> for Parts {
    fn from(orifice: Orifice) -> Parts {
        Parts { diameter_m: orifice.diameter, kind: orifice.kind, tolerance_m: orifice.tolerance }
    }
}
