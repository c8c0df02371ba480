use serde::{Deserialize, Serialize};

use super::{Land, OilState};

/// What is known of a circuit besides its readings.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Context {
    /// The land that seals it.
    pub land: Option<Land>,
    /// The oil it works with.
    pub oil: Option<OilState>,
}
