use std::fmt;

use serde::{Deserialize, Serialize};

use super::{Dimension, Unit, shown};

/// A finite value with its dimension, in SI.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Quantity {
    dimension: Dimension,
    si: f64,
}

impl Quantity {
    /// Makes a quantity from a number in a unit; `None` where the result is not finite.
    pub fn new(number: f64, unit: &Unit) -> Option<Quantity> {
        Quantity::from_si(unit.to_si(number), unit.dimension)
    }

    /// Makes a quantity from its SI value; `None` where that is not finite.
    pub fn from_si(si: f64, dimension: Dimension) -> Option<Quantity> {
        si.is_finite().then_some(Quantity { dimension, si })
    }

    /// Returns what kind of quantity it is.
    pub fn dimension(self) -> Dimension {
        self.dimension
    }

    /// Returns the value in the SI unit of its dimension.
    pub fn si(self) -> f64 {
        self.si
    }

    /// Writes the value in a unit of its own dimension.
    pub fn in_unit(self, unit: &Unit) -> String {
        format!("{} {}", shown(unit.from_si(self.si), unit.decimals), unit.symbol)
    }
}

impl fmt::Display for Quantity {
    /// Writes the value in the first unit of the table that has its dimension.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match super::UNITS.iter().find(|unit| unit.dimension == self.dimension) {
            Some(unit) => f.write_str(&self.in_unit(unit)),
            None => write!(f, "{}", self.si),
        }
    }
}
