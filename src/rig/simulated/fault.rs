use serde::{Deserialize, Serialize};

use crate::quantity::{Length, Pressure};

/// Something wrong with a simulated rig.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Fault {
    /// The hose lets air in through a hole.
    HoseLeaking {
        /// The bore of the hole.
        hole: Length,
    },
    /// The plug lets air past, differently each time it is fitted.
    PlugNotSealing {
        /// The bore of a hole that lets as much past, on average.
        hole: Length,
    },
    /// Another orifice than the one on record is fitted.
    WrongOrifice {
        /// Its bore.
        bore: Length,
    },
    /// The pump does less than it should.
    PumpTooWeak {
        /// What is left of its speed; above 0, at most 1.
        speed_left: f64,
        /// The least absolute pressure that it still reaches.
        ultimate: Pressure,
    },
    /// The needle stays where it is.
    DialStuck,
}
