use std::fmt;

use serde::{Deserialize, Serialize};

/// What the end of the hose is connected to while the rig is calibrated or proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Condition {
    Plugged,
    Through,
    /// The hose end is plugged with another plug, known to be good.
    OtherPlug,
    /// The hose is off and the rig's own port capped.
    Capped,
    Open,
}

impl Condition {
    /// Returns what to do with the hose for it.
    pub fn instruction(self) -> &'static str {
        match self {
            Condition::Plugged => "Plug the hose end.",
            Condition::Through => "Fit the test orifice to the hose end.",
            Condition::OtherPlug => "Plug the hose end with another plug.",
            Condition::Capped => "Take the hose off and cap the rig's own port.",
            Condition::Open => "Leave the hose end open to the air.",
        }
    }
}

impl fmt::Display for Condition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Condition::Plugged => "plugged",
            Condition::Through => "through the orifice",
            Condition::OtherPlug => "plugged with another plug",
            Condition::Capped => "capped at the rig",
            Condition::Open => "open",
        })
    }
}

/// One of the rig's two valves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Valve {
    /// Between the gauge and the pump.
    Inlet,
    /// Between the air around and the gauge.
    Bleed,
}

impl Valve {
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

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum ValveTurn {
    Open,
    Close,
}

impl ValveTurn {
    /// Returns the word that begins an instruction.
    pub fn word(self) -> &'static str {
        match self {
            ValveTurn::Open => "Open",
            ValveTurn::Close => "Close",
        }
    }

    /// Returns the stop that this turn ends at.
    pub fn stop(self) -> ValveStop {
        match self {
            ValveTurn::Open => ValveStop::Open,
            ValveTurn::Close => ValveStop::Shut,
        }
    }
}

/// An end of a valve's travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum ValveStop {
    Shut,
    Open,
}

impl fmt::Display for ValveStop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            ValveStop::Shut => "shut",
            ValveStop::Open => "open",
        })
    }
}
