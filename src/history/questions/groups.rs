use std::collections::BTreeMap;

use crate::history::writing::verdict_of;
use crate::history::{Index, IndexError, Tests};
use crate::leak::Verdict;

/// How many circuits got which verdict.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    /// Sound.
    pub holds: u64,
    /// Between the limits.
    pub worn: u64,
    /// To be repaired.
    pub leaks: u64,
    /// Not decided.
    pub retest: u64,
    /// Read without limits to judge by.
    pub not_judged: u64,
    /// Not tested.
    pub not_tested: u64,
}

impl Counts {
    /// Returns how many were tested and judged.
    pub fn tested(&self) -> u64 {
        self.holds + self.worn + self.leaks + self.retest
    }

    /// Returns the share of those tested that are worn or leak; 0 where none was.
    pub fn failed_share(&self) -> f64 {
        if self.tested() == 0 { 0.0 } else { (self.worn + self.leaks) as f64 / self.tested() as f64 }
    }

    fn add(&mut self, verdict: Option<Verdict>, n: u64) {
        *match verdict {
            Some(Verdict::Holds) => &mut self.holds,
            Some(Verdict::Worn) => &mut self.worn,
            Some(Verdict::Leaks) => &mut self.leaks,
            Some(Verdict::Retest) => &mut self.retest,
            Some(Verdict::Unjudged) => &mut self.not_judged,
            None => &mut self.not_tested,
        } += n;
    }
}

/// What circuits are counted by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GroupBy {
    /// By the circuit.
    Circuit,
    /// By who tested.
    Technician,
    /// By the rig.
    Rig,
    /// By the month.
    Month,
}

impl GroupBy {
    fn column(self) -> &'static str {
        match self {
            GroupBy::Circuit => "circuit",
            GroupBy::Technician => "technician",
            GroupBy::Rig => "rig",
            GroupBy::Month => "month",
        }
    }
}

/// Circuits that have something in common.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// What they have in common.
    pub label: String,
    /// Their verdicts.
    pub counts: Counts,
    /// Mean of their standard readings in Pa, where there are any.
    pub mean_pa: Option<f64>,
}

impl Index {
    /// Counts verdicts of a unit's circuits, or of one of them, by something; in the order of the labels, `circuit 2` before
    /// `circuit 10`.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn groups(
        &self,
        by: GroupBy,
        tests: Tests,
        unit: &str,
        circuit: Option<&str>,
    ) -> Result<Vec<Group>, IndexError> {
        let column = by.column();
        let restricted = if circuit.is_some() { "AND circuit = ?2" } else { "AND ?2 IS NULL" };
        let circuit = circuit.map(|circuit| self.word(circuit)).transpose()?.map(|word| word.unwrap_or(-1));
        let mut query = self.connection.prepare_cached(&format!(
            "SELECT {column}, verdict, SUM(n), SUM(n_readings), SUM(sum) FROM tally
             WHERE unit = ?1 AND again = ?3 {restricted} GROUP BY {column}, verdict"
        ))?;
        let mut rows = query.query(rusqlite::params![self.word(unit)?, circuit, tests.is_again()])?;
        let mut groups: BTreeMap<i64, (Counts, u64, f64)> = BTreeMap::new();
        while let Some(row) = rows.next()? {
            let (counts, n_readings, sum) = groups.entry(row.get(0)?).or_default();
            counts.add(verdict_of(row.get(1)?), row.get(2)?);
            *n_readings += row.get::<_, u64>(3)?;
            *sum += row.get::<_, f64>(4)?;
        }
        let mut labelled = Vec::new();
        for (word, (counts, n_readings, sum)) in groups {
            if counts != Counts::default() {
                let mean_pa = (n_readings > 0).then(|| sum / n_readings as f64);
                labelled.push(Group { label: self.text(word)?, counts, mean_pa });
            }
        }
        labelled.sort_by(|one: &Group, other| alphanumeric_sort::compare_str(&one.label, &other.label));
        Ok(labelled)
    }
}
