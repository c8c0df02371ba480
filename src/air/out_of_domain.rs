use std::fmt;

use serde::{Deserialize, Serialize};

/// Why a formula for a narrow gap gives no number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OutOfDomain {
    /// More air than any clearance of the land would pass below a tenth of the bore.
    NotAThinGap,
    /// The flow in the gap would be turbulent: Reynolds number over 2000.
    Turbulent,
    /// The gap is so wide for its length that its entrance counts: length below ten clearances.
    ShortLand,
    /// The gap is so narrow that air no longer slips but flies: Knudsen number over 0.1.
    Rarefied,
    /// Oil would no longer flow laminar in a gap so wide.
    OilTurbulent,
}

impl fmt::Display for OutOfDomain {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            OutOfDomain::NotAThinGap => {
                "no clearance of this land would pass so much air; something else is open"
            }
            OutOfDomain::Turbulent => "the flow would be turbulent, so no clearance can be told from it",
            OutOfDomain::ShortLand => {
                "the gap would be too wide for so short a land, so no clearance can be told from it"
            }
            OutOfDomain::Rarefied => {
                "the gap would be too narrow for air to flow as a gas, so no clearance can be told"
            }
            OutOfDomain::OilTurbulent => "a gap so wide passes oil as a hole does",
        })
    }
}
