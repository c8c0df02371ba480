use serde::{Deserialize, Serialize};

use super::{DRILLS, Drill};
use crate::quantity::{INCH, Length};

/// The two drill shanks that prove a hole: one has to go in, the other must not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GoNoGo {
    /// The largest drill that belongs into the hole.
    pub go: Drill,
    /// The next larger one, which does not.
    pub no_go: Drill,
}

/// What the two shanks did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Gauged {
    /// Whether the smaller shank went in.
    pub go_passes: bool,
    /// Whether the larger shank went in.
    pub no_go_passes: bool,
}

/// What that says of the hole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Size {
    /// It lies between the two.
    Right,
    /// It is smaller than it should be.
    TooSmall,
    /// It is larger than it should be.
    TooLarge,
}

/// Bores are given to the nearest ten-thousandth of an inch, so that a drill this much larger still belongs in.
const ROUNDING: f64 = 0.00011 * INCH;

/// Shanks are this much under size, so that a no-go nearer to the bore would tell nothing.
const STEP: f64 = 0.0005 * INCH;

impl GoNoGo {
    /// Returns the pair of drills for a bore; `None` outside the table.
    pub fn of(bore: Length) -> Option<GoNoGo> {
        let belongs = |drill: &&Drill| drill.diameter().si() <= bore.si() + ROUNDING;
        let go = DRILLS.iter().rev().find(belongs)?;
        let no_go = DRILLS.iter().find(|drill| drill.diameter().si() >= bore.si() + STEP)?;
        Some(GoNoGo { go: *go, no_go: *no_go })
    }
}

impl Gauged {
    /// Returns what the two shanks say of the hole.
    pub fn size(self) -> Size {
        match (self.go_passes, self.no_go_passes) {
            (true, false) => Size::Right,
            (false, _) => Size::TooSmall,
            (true, true) => Size::TooLarge,
        }
    }
}
