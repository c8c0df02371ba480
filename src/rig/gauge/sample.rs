use serde::{Deserialize, Serialize};

use crate::quantity::Pressure;

/// One value that a gauge sent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sample {
    /// The line as it came, without its end.
    pub line: String,
    /// The vacuum that it says.
    pub vacuum_pa: Pressure,
    /// When it came, in s since the gauge was opened.
    pub at_s: f64,
}
