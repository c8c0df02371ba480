use std::fmt;

use serde::{Deserialize, Serialize};

use crate::quantity::Pressure;
use crate::rig::STANDARD_PLUGGED;

/// The limits of a circuit, as standard readings.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Parts", into = "Parts")]
pub struct Limits {
    holds: Pressure,
    leaks: Pressure,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Parts {
    holds_pa: Pressure,
    leaks_pa: Pressure,
}

/// Why two readings are not limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LimitsError {
    /// A limit is not above 0 and below 25 inHg.
    Range(Pressure),
    /// The limit for leaking is above that for holding.
    Order {
        /// The limit for holding.
        holds: Pressure,
        /// The limit for leaking.
        leaks: Pressure,
    },
}

impl fmt::Display for LimitsError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            LimitsError::Range(limit) => write!(
                f,
                "a limit of {limit} is not a standard reading; it lies above 0 and below 25 inHg, \
                 which a circuit without any leak reads"
            ),
            LimitsError::Order { holds, leaks } => write!(
                f,
                "a circuit cannot leak at {leaks} and hold only from {holds}: more vacuum is less leak; \
                 the limit for leaking must not be above that for holding, so swap the two"
            ),
        }
    }
}

impl std::error::Error for LimitsError {}

impl Limits {
    /// Makes limits: at `holds` and above a circuit holds, at `leaks` and below it leaks, between them it is worn.
    ///
    /// Both lie above 0 and below 25 inHg; `leaks` is not above `holds`.
    pub fn new(holds: Pressure, leaks: Pressure) -> Result<Limits, LimitsError> {
        for limit in [holds, leaks] {
            if !(limit.si() > 0.0 && limit < STANDARD_PLUGGED) {
                return Err(LimitsError::Range(limit));
            }
        }
        if leaks > holds { Err(LimitsError::Order { holds, leaks }) } else { Ok(Limits { holds, leaks }) }
    }

    /// Returns the standard reading at and above which a circuit holds.
    pub fn holds(&self) -> Pressure {
        self.holds
    }

    /// Returns the standard reading at and below which a circuit leaks.
    pub fn leaks(&self) -> Pressure {
        self.leaks
    }
}

impl TryFrom<Parts> for Limits {
    type Error = LimitsError;

    fn try_from(parts: Parts) -> Result<Limits, LimitsError> {
        Limits::new(parts.holds_pa, parts.leaks_pa)
    }
}

impl From<Limits> for Parts {
    fn from(limits: Limits) -> Parts {
        Parts { holds_pa: limits.holds, leaks_pa: limits.leaks }
    }
}
