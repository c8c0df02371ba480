use crate::history::{Index, IndexError};

/// What a month's decisions cost and saved.
#[derive(Debug, Clone, PartialEq)]
pub struct Savings {
    /// The month, as `2026-11`.
    pub month: String,
    /// The money; empty where the shop names none.
    pub currency: String,
    /// How many records that says something of.
    pub n: u64,
    /// What was decided cost.
    pub total: f64,
    /// What replacements would have cost more.
    pub saved: f64,
}

impl Index {
    /// Returns what the shop saved by the figures at hand, by month and money.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn savings(&self) -> Result<Vec<Savings>, IndexError> {
        let mut query = self.connection.prepare_cached(
            "SELECT m.text, c.text, n, total, saved FROM money JOIN word m ON m.id = month
             JOIN word c ON c.id = currency WHERE n > 0 ORDER BY m.text, c.text",
        )?;
        let rows = query.query_map([], |row| {
            Ok(Savings {
                month: row.get(0)?,
                currency: row.get(1)?,
                n: row.get(2)?,
                total: row.get(3)?,
                saved: row.get(4)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}
