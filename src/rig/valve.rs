use std::fmt;

use serde::{Deserialize, Serialize};

/// One of the rig's two valves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Valve {
    /// Between the gauge and the pump.
    Inlet,
    /// Between the air around and the gauge.
    Bleed,
}

impl Valve {
    /// Returns the other one.
    pub fn other(self) -> Valve {
        match self {
            Valve::Inlet => Valve::Bleed,
            Valve::Bleed => Valve::Inlet,
        }
    }
}

impl fmt::Display for Valve {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Valve::Inlet => "inlet valve",
            Valve::Bleed => "bleed valve",
        })
    }
}

/// Which way a valve is turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Turn {
    /// To let more air through.
    Open,
    /// To let less air through.
    Close,
}

impl Turn {
    /// Returns the word that begins an instruction.
    pub fn word(self) -> &'static str {
        match self {
            Turn::Open => "Open",
            Turn::Close => "Close",
        }
    }

    /// Returns the stop that this turn ends at.
    pub fn stop(self) -> Stop {
        match self {
            Turn::Open => Stop::Open,
            Turn::Close => Stop::Shut,
        }
    }
}

impl fmt::Display for Turn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Turn::Open => "open",
            Turn::Close => "close",
        })
    }
}

impl fmt::Display for Stop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Stop::Shut => "shut",
            Stop::Open => "open",
        })
    }
}

/// An end of a valve's travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stop {
    /// On its seat.
    Shut,
    /// As far open as it goes.
    Open,
}
