use super::super::Site;
use super::Influence;

/// A statement that asks or tells.
#[derive(Debug)]
pub(crate) struct Statement {
    pub word: &'static str,
    pub site: Site,
    /// What decides whether it is reached.
    pub hangs_on: Influence,
    /// What decides its words.
    pub says: Influence,
}

/// What hangs on what in a procedure.
#[derive(Debug, Default)]
pub(crate) struct Influences {
    /// Every call of a word, by its number.
    pub statements: Vec<Statement>,
    /// What decides whether something goes wrong that can: a division, a test without a reading.
    pub troubles: Vec<Influence>,
    /// Whether a test leaves something behind that is seen outside it.
    pub tests_are_tied: bool,
}

impl Influences {
    /// Returns the sets of what statements and troubles hang on; the largest only, or each: whatever is exhausted for a
    /// set is for all that are in it.
    pub(crate) fn sets(&self, each: bool) -> Vec<Influence> {
        let mut sets: Vec<&Influence> =
            self.statements.iter().map(|statement| &statement.hangs_on).chain(&self.troubles).collect();
        sets.sort_by_key(|set| (!set.is_all, std::cmp::Reverse(set.strands.len())));
        sets.dedup();
        let mut largest: Vec<Influence> = Vec::new();
        for set in sets {
            if !set.is_none() && (each || largest.iter().all(|larger| !set.is_in(larger))) {
                largest.push(set.clone());
            }
        }
        largest
    }
}
