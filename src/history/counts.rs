use rusqlite::types::ToSql;

use super::{Index, IndexError};
use crate::record::VerdictCounts;

/// What circuits are counted by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum GroupBy {
    Circuit,
    Technician,
    Rig,
    Month,
}

/// Which tests are asked about.
///
/// A shop tests again what it has repaired, so its weak circuits would look the better the more it repairs, were
/// the two not kept apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Tests {
    /// The first tests of units.
    First,
    /// Those of circuits that were tested again, as after a repair.
    Again,
}

impl Tests {
    pub(super) fn is_again(self) -> bool {
        self == Tests::Again
    }
}

/// Circuits that have something in common.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Group {
    /// What they have in common.
    pub label: String,
    pub counts: VerdictCounts,
    /// Mean of their standard readings in Pa, where there are any.
    pub mean_pa: Option<f64>,
    /// How many readings are left out of it, as no two takes of them agree.
    pub n_differing: usize,
}

impl Group {
    /// Returns how many were tested and judged.
    pub(crate) fn tested(&self) -> usize {
        self.counts.sound() + self.counts.amiss() + self.counts.retest
    }

    /// Returns the share of those tested that are not as they should be; none where none was.
    pub(crate) fn failed_share(&self) -> Option<f64> {
        (self.tested() > 0).then(|| self.counts.amiss() as f64 / self.tested() as f64)
    }
}

impl Index {
    /// Counts verdicts of a unit's circuits, or of one of them, by something; in the order of the labels, `circuit 2`
    /// before `circuit 10`.
    pub(crate) fn groups(
        &self,
        by: GroupBy,
        tests: Tests,
        unit: &str,
        circuit: Option<&str>,
    ) -> Result<Vec<Group>, IndexError> {
        let again = tests.is_again();
        let column = match by {
            GroupBy::Circuit => "",
            GroupBy::Technician => "technician",
            GroupBy::Rig => "rig",
            GroupBy::Month => "month",
        };
        let (sql, parameters): (&str, &[&dyn ToSql]) = match (by, &circuit) {
            (GroupBy::Circuit, _) => (include_str!("sql/failing.sql"), &[&unit, &again]),
            (_, None) => (include_str!("sql/by.sql"), &[&unit, &again, &column]),
            (_, Some(circuit)) => (include_str!("sql/by_of_circuit.sql"), &[&unit, &again, &column, circuit]),
        };
        let mut groups = self.ask(sql, parameters, |row| {
            let mut counts = VerdictCounts::default();
            let mut column = 0;
            for (verdict, _) in VerdictCounts::default().each() {
                column += 1;
                *counts.count_mut(verdict) = row.get(column)?;
            }
            let n_readings: u64 = row.get(column + 1)?;
            let sum: f64 = row.get(column + 2)?;
            let mean_pa = (n_readings > 0).then(|| sum / n_readings as f64);
            Ok(Group { label: row.get(0)?, counts, mean_pa, n_differing: row.get(column + 3)? })
        })?;
        if let (GroupBy::Circuit, Some(circuit)) = (by, circuit) {
            groups.retain(|group| group.label == circuit);
        }
        groups.sort_by(|one, other| alphanumeric_sort::compare_str(&one.label, &other.label));
        Ok(groups)
    }
}
