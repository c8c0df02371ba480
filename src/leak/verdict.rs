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
    /// Returns what the readings of a test say together: the worst of them. Where the test was left before its end, what was
    /// found until then stands, worn or leaking, and nothing is held for sound.
    pub fn concluded(readings: &[Verdict], is_left: bool) -> Option<Verdict> {
        let worst = Verdict::worst(readings.iter().copied());
        worst.filter(|verdict| !is_left || matches!(verdict, Verdict::Worn | Verdict::Leaks))
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
