use std::fmt;

use serde::{Deserialize, Serialize};

/// What the readings of a circuit say about it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// It holds vacuum as it should.
    Holds,
    /// It leaks more than it should and less than it must not.
    Worn,
    /// It leaks more than it may.
    Leaks,
    /// The uncertainty does not allow a verdict.
    Retest,
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Verdict::Holds => "holds",
            Verdict::Worn => "worn",
            Verdict::Leaks => "leaks",
            Verdict::Retest => "retest",
        })
    }
}
