use std::fmt;

use crate::quantity::{INCH, Length};

/// A drill of the trade's sizes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drill {
    /// Its name: a number, or a fraction of an inch.
    pub name: &'static str,
    /// Its diameter in inches.
    pub inches: f64,
}

/// The numbered drills and 64ths of an inch that test orifices are made with, the smallest first (ANSI/ASME B94.11M).
pub const DRILLS: [Drill; 32] = [
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
    /// Returns its diameter.
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
