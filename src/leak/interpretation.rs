use std::fmt;

use serde::{Deserialize, Serialize};

use super::{Estimate, OutOfDomain};

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
