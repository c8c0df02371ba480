use std::f64::consts::PI;
use std::fmt;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::air::{PLUG_COEFFICIENT, plate_coefficient, plate_slope};
use crate::quantity::{INCH, Length};

/// How the hole of a test orifice is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
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
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(try_from = "OrificeParts")]
pub struct Orifice {
    #[serde(rename = "diameter_m")]
    diameter: Length,
    kind: OrificeKind,
    #[serde(rename = "tolerance_m")]
    tolerance: Length,
}

#[derive(Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct OrificeParts {
    diameter_m: Length,
    kind: OrificeKind,
    tolerance_m: Length,
}

/// Why an orifice cannot be.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum OrificeError {
    /// The hole is not between 0.1 and 10 mm wide.
    #[error(
        "a test orifice of {0} cannot be used (0.004 to 0.4 in); give the size of the drill it was made with"
    )]
    Diameter(Length),
    #[error("a tolerance of {0} does not fit the orifice; give what its hole may differ from its size")]
    Tolerance(Length),
}

impl Orifice {
    /// The usual shop orifice: a plug of 0.035 in (drill #65).
    pub const STANDARD: Orifice = Orifice {
        diameter: Length::constant(0.035 * INCH),
        kind: OrificeKind::Plug,
        tolerance: DRILL_TOLERANCE,
    };

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

impl TryFrom<OrificeParts> for Orifice {
    type Error = OrificeError;

    fn try_from(parts: OrificeParts) -> Result<Orifice, OrificeError> {
        Orifice::with_tolerance(parts.diameter_m, parts.kind, parts.tolerance_m)
    }
}

/// A drill of the trade's sizes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drill {
    /// Its name: a number, or a fraction of an inch.
    pub name: &'static str,
    pub inches: f64,
}

/// The numbered drills and 64ths of an inch that test orifices are made with, the smallest first (ANSI/ASME B94.11M).
pub(crate) const DRILLS: [Drill; 32] = [
    Drill { name: "80", inches: 0.0135 },
    Drill { name: "79", inches: 0.0145 },
    Drill { name: "1/64", inches: 0.015625 },
    Drill { name: "78", inches: 0.016 },
    Drill { name: "77", inches: 0.018 },
    Drill { name: "76", inches: 0.02 },
    Drill { name: "75", inches: 0.021 },
    Drill { name: "74", inches: 0.0225 },
    Drill { name: "73", inches: 0.024 },
    Drill { name: "72", inches: 0.025 },
    Drill { name: "71", inches: 0.026 },
    Drill { name: "70", inches: 0.028 },
    Drill { name: "69", inches: 0.0292 },
    Drill { name: "68", inches: 0.031 },
    Drill { name: "1/32", inches: 0.03125 },
    Drill { name: "67", inches: 0.032 },
    Drill { name: "66", inches: 0.033 },
    Drill { name: "65", inches: 0.035 },
    Drill { name: "64", inches: 0.036 },
    Drill { name: "63", inches: 0.037 },
    Drill { name: "62", inches: 0.038 },
    Drill { name: "61", inches: 0.039 },
    Drill { name: "60", inches: 0.04 },
    Drill { name: "59", inches: 0.041 },
    Drill { name: "58", inches: 0.042 },
    Drill { name: "57", inches: 0.043 },
    Drill { name: "56", inches: 0.0465 },
    Drill { name: "3/64", inches: 0.046875 },
    Drill { name: "55", inches: 0.052 },
    Drill { name: "54", inches: 0.055 },
    Drill { name: "53", inches: 0.0595 },
    Drill { name: "1/16", inches: 0.0625 },
];

impl Drill {
    pub fn diameter(&self) -> Length {
        Length::constant(self.inches * INCH)
    }

    /// Returns the drill of this name, with or without a number sign.
    pub fn by_name(name: &str) -> Option<&'static Drill> {
        let name = name.trim().trim_start_matches('#');
        DRILLS.iter().find(|drill| drill.name == name)
    }
}

impl fmt::Display for Drill {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.name.contains('/') { "" } else { "#" };
        let unit = if self.name.contains('/') { " in" } else { "" };
        write!(f, "{sign}{}{unit} ({:.4} in)", self.name, self.inches)
    }
}

/// The two drill shanks that prove a hole: one has to go in, the other must not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct GoNoGo {
    /// The largest drill that belongs into the hole.
    pub go: Drill,
    /// The next larger one, which does not.
    pub no_go: Drill,
}

/// What the two shanks did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Gauged {
    pub go_passes: bool,
    pub no_go_passes: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Size {
    Right,
    TooSmall,
    TooLarge,
}

/// Bores are given to the nearest ten-thousandth of an inch, so that a drill this much larger still belongs in.
const ROUNDING: f64 = 0.00011 * INCH;

/// Shanks are this much under size, so that a no-go nearer to the bore would tell nothing.
const STEP: f64 = 0.0005 * INCH;

impl GoNoGo {
    /// Returns the pair of drills for a bore; `None` outside the table.
    pub(crate) fn of(bore: Length) -> Option<GoNoGo> {
        let belongs = |drill: &&Drill| drill.diameter().si() <= bore.si() + ROUNDING;
        let go = DRILLS.iter().rev().find(belongs)?;
        let no_go = DRILLS.iter().find(|drill| drill.diameter().si() >= bore.si() + STEP)?;
        Some(GoNoGo { go: *go, no_go: *no_go })
    }
}

impl Gauged {
    pub(crate) fn size(self) -> Size {
        match (self.go_passes, self.no_go_passes) {
            (true, false) => Size::Right,
            (false, _) => Size::TooSmall,
            (true, true) => Size::TooLarge,
        }
    }
}
