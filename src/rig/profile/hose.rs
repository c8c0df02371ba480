use serde::{Deserialize, Serialize};

use crate::quantity::Pressure;

/// The hose with its fittings, the weaker of them.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hose {
    /// What it is, in the technician's words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub description: Option<String>,
    /// The deepest vacuum that it is made for, where known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vacuum_rating_pa: Option<Pressure>,
    /// The highest pressure that it is made for, where known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pressure_rating_pa: Option<Pressure>,
    /// Whether the same hose is used for line pressure too.
    #[serde(default)]
    pub carries_line_pressure: bool,
    /// Whether hose and seals are of a kind that the oil does not attack, where that was asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stands_oil: Option<bool>,
}
