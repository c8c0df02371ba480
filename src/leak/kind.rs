use std::fmt;

use serde::{Deserialize, Serialize};

/// What a leak is, and so how the air through it changes with pressure and temperature.
///
/// Where nobody knows, there is none of the two, and what is said of a leak holds for both.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum LeakKind {
    /// A clearance around a land: viscous flow, by (P^2 - p^2)/(mu T).
    Gap,
    /// An opening such as a nick, a crack or a missing ball: the flow of an orifice, by P Phi/sqrt(T).
    Hole,
}

impl LeakKind {
    pub(crate) const ALL: [LeakKind; 2] = [LeakKind::Gap, LeakKind::Hole];

    /// Returns the word for it.
    pub fn word(self) -> &'static str {
        match self {
            LeakKind::Gap => "gap",
            LeakKind::Hole => "hole",
        }
    }
}

impl fmt::Display for LeakKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// What seals a circuit in place of a valve's land.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Seal {
    /// A lip that the pressure presses on.
    Lip,
    /// An O-ring, a square-cut ring or a moulded seal.
    Elastomer,
}

impl Seal {
    pub(crate) const ALL: [Seal; 2] = [Seal::Lip, Seal::Elastomer];

    /// Returns the word for it.
    pub fn word(self) -> &'static str {
        match self {
            Seal::Lip => "lip",
            Seal::Elastomer => "elastomer",
        }
    }
}
