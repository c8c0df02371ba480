use std::collections::BTreeSet;

/// What of an answer something hangs on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum Aspect {
    /// What `read` or `ask_number` gave, before anything was asked of it.
    Whole,
    /// What there are few of: a verdict, a side of limits, yes or no, a choice.
    Verdict,
    /// A figure or a text.
    Figure,
    /// Whether it was left out: by `cannot`, and a test by a plan.
    Leaving,
}

/// One thing that something hangs on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) struct Strand {
    /// The call that asks, by its number.
    pub asker: usize,
    /// Whether the answer may have been given in the test of another circuit.
    pub is_far: bool,
    pub aspect: Aspect,
}

/// More than this many are as good as all.
const MOST_STRANDS: usize = 600;

/// Everything that something hangs on.
#[derive(Debug, Clone, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) struct Influence {
    /// Whether it may hang on any answer: where that can't be followed.
    pub is_all: bool,
    pub strands: BTreeSet<Strand>,
}

impl Influence {
    pub(super) fn all() -> Influence {
        Influence { is_all: true, strands: BTreeSet::new() }
    }

    pub(super) fn one(asker: usize, aspect: Aspect) -> Influence {
        Influence { is_all: false, strands: BTreeSet::from([Strand { asker, is_far: false, aspect }]) }
    }

    pub(crate) fn is_none(&self) -> bool {
        !self.is_all && self.strands.is_empty()
    }

    /// Takes in what another hangs on; returns whether that is more.
    pub(super) fn join(&mut self, other: &Influence) -> bool {
        if self.is_all {
            return false;
        }
        let before = self.strands.len();
        self.strands.extend(other.strands.iter().copied());
        if other.is_all || self.strands.len() > MOST_STRANDS {
            *self = Influence::all();
            return true;
        }
        self.strands.len() > before
    }

    pub(super) fn with(mut self, other: &Influence) -> Influence {
        self.join(other);
        self
    }

    /// Returns the same as it is outside the test that it belongs to.
    pub(super) fn seen_from_afar(&self) -> Influence {
        let strands = self.strands.iter().map(|strand| Strand { is_far: true, ..*strand }).collect();
        Influence { strands, ..*self }
    }

    /// Returns what hangs on this aspect of what was asked.
    pub(super) fn asked_for(&self, aspect: Aspect) -> Influence {
        let mut asked = self.clone();
        let whole = self.strands.iter().filter(|strand| strand.aspect == Aspect::Whole);
        asked.strands.extend(whole.map(|strand| Strand { aspect, ..*strand }));
        asked
    }

    pub(crate) fn has(&self, aspect: Aspect) -> bool {
        self.is_all || self.strands.iter().any(|strand| strand.aspect == aspect)
    }

    /// Returns whether all of this is in another.
    pub(crate) fn is_in(&self, other: &Influence) -> bool {
        other.is_all || !self.is_all && self.strands.is_subset(&other.strands)
    }

    /// Returns the same without what nothing was asked of.
    pub(super) fn looked_at(mut self) -> Influence {
        self.strands.retain(|strand| strand.aspect != Aspect::Whole);
        self
    }
}
