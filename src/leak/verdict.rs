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
    /// It was read, and has no limits yet to be judged by.
    Unjudged,
}

impl Verdict {
    /// Returns whether it finds a circuit wanting: it is worn or leaks, whatever else may be read of it.
    pub fn is_found(self) -> bool {
        matches!(self, Verdict::Worn | Verdict::Leaks)
    }

    /// Returns the worst of several verdicts: leaks before retest before unjudged before worn
    /// before holds; none of none.
    pub fn worst(verdicts: impl IntoIterator<Item = Verdict>) -> Option<Verdict> {
        verdicts.into_iter().max_by_key(|verdict| match verdict {
            Verdict::Holds => 0,
            Verdict::Worn => 1,
            Verdict::Unjudged => 2,
            Verdict::Retest => 3,
            Verdict::Leaks => 4,
        })
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Verdict::Holds => "holds",
            Verdict::Worn => "worn",
            Verdict::Leaks => "leaks",
            Verdict::Retest => "retest",
            Verdict::Unjudged => "not judged",
        })
    }
}
