use std::fmt;

use serde::{Deserialize, Serialize};

use super::{Dimension, UNITS, Unit, shown};

/// A finite value with its dimension, in SI.
#[derive(Debug, Clone, Copy, PartialEq)]
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
        unit.written(shown(unit.from_si(self.si), unit.decimals))
    }
}

impl fmt::Display for Quantity {
    /// Writes the value in the first unit of the table that has its dimension.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match UNITS.iter().find(|unit| unit.dimension == self.dimension) {
            Some(unit) => f.write_str(&self.in_unit(unit)),
            None => write!(f, "{}", self.si),
        }
    }
}

macro_rules! typed {
    ($($(#[$doc:meta])* $name:ident($dimension:ident), $si_unit:literal;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
        #[cfg_attr(test, derive(schemars::JsonSchema))]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            #[doc = concat!("Makes one from its value in ", $si_unit, "; `None` where that is not finite.")]
            pub fn from_si(si: f64) -> Option<$name> {
                si.is_finite().then_some($name(si))
            }

            #[doc = concat!("Returns the value in ", $si_unit, ".")]
            pub const fn si(self) -> f64 {
                self.0
            }

            #[doc = concat!("Makes one from a constant in ", $si_unit, ", which must be finite.")]
            pub const fn constant(si: f64) -> $name {
                assert!(si.is_finite(), "a constant is finite");
                $name(si)
            }

            /// Writes the value in a unit of its own dimension.
            pub fn in_unit(self, unit: &Unit) -> String {
                unit.written(shown(unit.from_si(self.0), unit.decimals))
            }
        }

        impl fmt::Display for $name {
            /// Writes the value in the first unit of the table that has its dimension.
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                Quantity::from(*self).fmt(f)
            }
        }

        impl From<$name> for Quantity {
            fn from(value: $name) -> Quantity {
                Quantity::from_si(value.0, Dimension::$dimension).unwrap_or_else(|| unreachable!("finite by construction"))
            }
        }

        impl TryFrom<Quantity> for $name {
            type Error = Dimension;

            /// Fails with the dimension that was found instead.
            fn try_from(quantity: Quantity) -> Result<$name, Dimension> {
                match quantity.dimension() {
                    Dimension::$dimension => Ok($name(quantity.si())),
                    other => Err(other),
                }
            }
        }
    )*};
}

typed! {
    /// A pressure or a vacuum, finite, in Pa.
    Pressure(Pressure), "Pa";
    /// A length, finite, in m.
    Length(Length), "m";
    /// A thermodynamic temperature, finite, in K.
    Temperature(Temperature), "K";
    /// A volume flow, finite, in m3/s.
    VolumeFlow(VolumeFlow), "m3/s";
    /// A kinematic viscosity, finite, in m2/s.
    Viscosity(Viscosity), "m2/s";
    /// A density, finite, in kg/m3.
    Density(Density), "kg/m3";
}
