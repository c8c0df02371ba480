use std::collections::BTreeMap;

use crate::history::{Index, IndexError};

/// What a month's decisions cost and saved.
#[derive(Debug, Clone, PartialEq)]
pub struct Savings {
    /// The month, as `2026-11`.
    pub month: String,
    /// The money; empty where the shop names none.
    pub currency: String,
    /// How many units were repaired that would else have been replaced; one that was replaced after all is taken away again.
    pub n: i64,
    /// What was decided cost.
    pub total: f64,
    /// What replacements would have cost more.
    pub saved: f64,
}

/// What was decided after a unit was tested again: month, money, cost, what a replacement costs, whether it was replaced,
/// and whether it had been repaired before.
type DecidedAgain = (String, String, f64, f64, bool, bool);

impl Index {
    /// Returns what the shop saved by the figures at hand, by month and money.
    ///
    /// A unit saves its replacement once: what is repaired again costs that much more, and what is replaced after all saves
    /// nothing.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn savings(&self) -> Result<Vec<Savings>, IndexError> {
        let _snapshot = self.connection.unchecked_transaction()?;
        let mut query = self.connection.prepare_cached(
            "SELECT m.text, c.text, n, total, saved FROM money JOIN word m ON m.id = month
             JOIN word c ON c.id = currency WHERE n > 0",
        )?;
        let rows = query
            .query_map([], |row| Ok(((row.get(0)?, row.get(1)?), (row.get(2)?, row.get(3)?, row.get(4)?))))?;
        let mut months: BTreeMap<(String, String), (i64, f64, f64)> = rows.collect::<Result<_, _>>()?;
        for (month, currency, total, replacement, is_replaced, is_repaired) in self.decided_again()? {
            let (n, saved) = match (is_repaired, is_replaced) {
                (true, false) => (0, -total),
                (true, true) => (-1, -total - replacement),
                (false, false) => (1, replacement - total),
                (false, true) => continue,
            };
            let sums = months.entry((month, currency)).or_default();
            *sums = (sums.0 + n, sums.1 + total, sums.2 + saved);
        }
        let savings = |((month, currency), (n, total, saved))| Savings { month, currency, n, total, saved };
        Ok(months.into_iter().map(savings).collect())
    }

    fn decided_again(&self) -> Result<Vec<DecidedAgain>, IndexError> {
        let mut query = self.connection.prepare_cached(
            "SELECT m.text, c.text, total, replacement, is_replaced, EXISTS (
                 WITH RECURSIVE before(name) AS (
                     SELECT r.after
                     UNION SELECT e.after FROM record e JOIN before ON e.name = before.name WHERE e.after IS NOT NULL)
                 SELECT 1 FROM before JOIN record e ON e.name = before.name JOIN account a ON a.record = e.id
                 WHERE NOT a.is_replaced)
             FROM record r JOIN account ON account.record = r.id JOIN word m ON m.id = r.month
             JOIN word c ON c.id = currency WHERE r.after IS NOT NULL AND r.counts",
        )?;
        let rows = query.query_map([], |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?, row.get(5)?))
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}
