use std::fmt;

use serde::{Deserialize, Serialize};

use super::Estimate;

/// A figure that a leak means, with the assumption that it rests on; or why there is none.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Interpretation {
    /// The figure.
    Value {
        /// Value and 95 % interval in SI.
        estimate: Estimate,
        /// What it rests on.
        assumption: Assumption,
    },
    /// No figure: the formula does not hold here.
    OutOfDomain {
        /// What is outside.
        why: OutOfDomain,
    },
}

/// What an interpretation takes for granted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Assumption {
    /// All air of the leak goes through one clearance around one land.
    OneLand,
    /// Oil takes the clearance found with air.
    OilThroughClearance,
    /// Oil takes a narrow laminar gap of any shape; its geometry cancels.
    OilThroughGap,
    /// Oil takes one hole of the test orifice's kind.
    OilThroughHole,
}

/// Why an interpretation gives no number.
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
}

impl Interpretation {
    /// Returns the interpretation with its figure multiplied by a factor that is not negative.
    pub fn scaled(self, factor: f64) -> Interpretation {
        match self {
            Interpretation::Value { estimate, assumption } => {
                Interpretation::Value { estimate: estimate.scaled(factor), assumption }
            }
            outside => outside,
        }
    }

    /// Returns the figure, where there is one.
    pub fn estimate(&self) -> Option<Estimate> {
        match self {
            Interpretation::Value { estimate, .. } => Some(*estimate),
            Interpretation::OutOfDomain { .. } => None,
        }
    }
}

impl fmt::Display for Assumption {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Assumption::OneLand => "if all of the leak passes the clearance of this one land",
            Assumption::OilThroughClearance => "if oil takes the clearance of the land, in laminar flow",
            Assumption::OilThroughGap => "if the leak is one narrow gap, in laminar flow",
            Assumption::OilThroughHole => "if the leak is one hole like the test orifice, in turbulent flow",
        })
    }
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
        })
    }
}
