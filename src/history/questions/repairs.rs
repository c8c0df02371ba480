use crate::history::{Index, IndexError};

/// What became of circuits about which the same was decided.
#[derive(Debug, Clone, PartialEq)]
pub struct RepairOutcome {
    /// The circuit.
    pub circuit: String,
    /// What was decided.
    pub decided: String,
    /// How many were tested again afterwards.
    pub n: u64,
    /// How many of them hold now.
    pub holds_now: u64,
    /// Mean of the lowest standard readings before, in Pa.
    pub before_pa: Option<f64>,
    /// Mean of the lowest standard readings afterwards, in Pa.
    pub after_pa: Option<f64>,
}

impl Index {
    /// Returns what became of a unit's circuits after what was decided about them, by circuit and decision.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn repairs(&self, unit: &str) -> Result<Vec<RepairOutcome>, IndexError> {
        let mut query = self.connection.prepare_cached(
            "SELECT c.text, d.text, n, holds, before, after FROM (
                 SELECT circuit, decided, COUNT(*) AS n, SUM(verdict_after = 0) AS holds,
                        AVG(standard_before) AS before, AVG(standard_after) AS after
                 FROM repair WHERE unit = ?1 GROUP BY circuit, decided)
             JOIN word c ON c.id = circuit JOIN word d ON d.id = decided",
        )?;
        let rows = query.query_map([self.word(unit)?], |row| {
            Ok(RepairOutcome {
                circuit: row.get(0)?,
                decided: row.get(1)?,
                n: row.get(2)?,
                holds_now: row.get(3)?,
                before_pa: row.get(4)?,
                after_pa: row.get(5)?,
            })
        })?;
        let mut repairs: Vec<RepairOutcome> = rows.collect::<Result<_, _>>()?;
        repairs.sort_by(|one, other| {
            alphanumeric_sort::compare_str(&one.circuit, &other.circuit)
                .then_with(|| one.decided.cmp(&other.decided))
        });
        Ok(repairs)
    }
}
