use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::Verdict;
use crate::quantity::Pressure;
use crate::rig::STANDARD_PLUGGED;

/// The limits of a circuit, as standard readings: of one that is to hold, or the window of a
/// passage that is to be open.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(try_from = "LimitsParts")]
pub struct Limits {
    /// At and below it a circuit leaks, or is too open.
    #[serde(rename = "lower_pa")]
    lower: Pressure,
    /// At and above it a circuit holds, or is too tight.
    #[serde(rename = "upper_pa")]
    upper: Pressure,
    /// Whether it is right between the two.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    is_window: bool,
}

#[derive(Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct LimitsParts {
    lower_pa: Pressure,
    upper_pa: Pressure,
    #[serde(default)]
    is_window: bool,
}

/// Why two readings are not limits.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum LimitsError {
    /// A limit is not above 0 and below 25 inHg.
    #[error(
        "a limit of {0} is not a standard reading; it lies above 0 and below 25 inHg, which a circuit \
         without any leak reads"
    )]
    Range(Pressure),
    #[error(
        "a circuit cannot leak at {leaks} and hold only from {holds}: more vacuum is less leak; the limit \
         for leaking must not be above that for holding, so swap the two"
    )]
    Order { holds: Pressure, leaks: Pressure },
    #[error("nothing reads between {from} and {to}: the smaller vacuum stands first, so swap the two")]
    Window { from: Pressure, to: Pressure },
}

impl Limits {
    /// Makes limits: at `holds` and above a circuit holds, at `leaks` and below it leaks, between them it is worn.
    ///
    /// Both lie above 0 and below 25 inHg; `leaks` is not above `holds`.
    pub fn new(holds: Pressure, leaks: Pressure) -> Result<Limits, LimitsError> {
        in_range([holds, leaks])?;
        if leaks > holds {
            return Err(LimitsError::Order { holds, leaks });
        }
        Ok(Limits { lower: leaks, upper: holds, is_window: false })
    }

    /// Makes the window of a passage that is to be open: between the two it is right, at `from` and below too open, at
    /// `to` and above too tight, since a deeper vacuum is less air.
    ///
    /// Both lie above 0 and below 25 inHg, `from` below `to`.
    pub fn window(from: Pressure, to: Pressure) -> Result<Limits, LimitsError> {
        in_range([from, to])?;
        if from >= to {
            return Err(LimitsError::Window { from, to });
        }
        Ok(Limits { lower: from, upper: to, is_window: true })
    }

    /// Returns the lower limit, that of what passes too much air: at and below it a circuit leaks or is too open.
    pub fn lower(&self) -> Pressure {
        self.lower
    }

    /// Returns the upper limit: at and above it a circuit holds or is too tight.
    pub fn upper(&self) -> Pressure {
        self.upper
    }

    /// Returns whether they are the window of a passage that is to be open.
    pub fn is_window(&self) -> bool {
        self.is_window
    }

    /// Returns the verdicts at and below the lower limit, between the two, and at and above the upper one.
    pub fn verdicts(&self) -> [Verdict; 3] {
        match self.is_window {
            false => [Verdict::Leaks, Verdict::Worn, Verdict::Holds],
            true => [Verdict::Open, Verdict::Right, Verdict::Tight],
        }
    }
}

fn in_range(limits: [Pressure; 2]) -> Result<(), LimitsError> {
    let is_reading = |limit: &Pressure| limit.si() > 0.0 && *limit < STANDARD_PLUGGED;
    limits.into_iter().find(|limit| !is_reading(limit)).map_or(Ok(()), |limit| Err(LimitsError::Range(limit)))
}

impl TryFrom<LimitsParts> for Limits {
    type Error = LimitsError;

    fn try_from(parts: LimitsParts) -> Result<Limits, LimitsError> {
        let LimitsParts { lower_pa, upper_pa, is_window } = parts;
        if is_window { Limits::window(lower_pa, upper_pa) } else { Limits::new(upper_pa, lower_pa) }
    }
}
