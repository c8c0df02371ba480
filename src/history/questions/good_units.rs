use std::collections::HashMap;

use crate::history::writing::verdict_of;
use crate::history::{Index, IndexError};
use crate::leak::Verdict;
use crate::quantity::Pressure;

/// What a circuit read in a record.
#[derive(Debug, Clone, PartialEq)]
pub struct GoodUnit {
    /// The session.
    pub session: String,
    /// The lowest standard reading of the circuit that counts.
    pub standard: Pressure,
    /// Whether it was tested again then, as after a repair.
    pub is_again: bool,
    /// The verdict that it got; none where it was not judged.
    pub verdict: Option<Verdict>,
}

impl Index {
    /// Returns what a unit's circuit read in each of these sessions, or in every one of the unit's, by the session's name.
    ///
    /// Records that were amended do not count, nor does one whose unit was read again after a repair in another of them: that
    /// unit is counted as it then was.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn good_units(
        &self,
        unit: &str,
        circuit: &str,
        sessions: Option<&[String]>,
    ) -> Result<Vec<GoodUnit>, IndexError> {
        let mut query = self.connection.prepare_cached(
            "SELECT r.name, r.after, c.standard, c.verdict FROM record r JOIN circuit c ON c.record = r.id
             WHERE r.unit = ?1 AND c.circuit = ?2 AND r.counts AND c.standard IS NOT NULL ORDER BY r.name",
        )?;
        let rows = query.query_map([self.word(unit)?, self.word(circuit)?], |row| {
            let verdict = verdict_of(row.get(3)?);
            Ok((row.get::<_, String>(0)?, row.get::<_, Option<String>>(1)?, row.get::<_, f64>(2)?, verdict))
        })?;
        let rows: Vec<_> = rows.collect::<Result<_, _>>()?;
        let is_meant =
            |name: &String| sessions.is_none_or(|sessions| sessions.iter().any(|session| session == name));
        let meant: Vec<_> = rows.into_iter().filter(|(name, ..)| is_meant(name)).collect();
        let amended = self.amended(unit)?;
        let is_read_again = |name: &String| {
            // A later test may name the record that this one amends.
            let meant_by = std::iter::successors(Some(name), |name| amended.get(*name));
            meant_by
                .take(amended.len() + 1)
                .any(|name| meant.iter().any(|(_, after, ..)| after.as_ref() == Some(name)))
        };
        Ok(meant
            .iter()
            .filter(|(name, ..)| !is_read_again(name))
            .filter_map(|(name, after, standard, verdict)| {
                Some(GoodUnit {
                    session: name.clone(),
                    standard: Pressure::from_si(*standard)?,
                    is_again: after.is_some(),
                    verdict: *verdict,
                })
            })
            .collect())
    }

    /// Returns what each record of a unit amends, by its name.
    fn amended(&self, unit: &str) -> Result<HashMap<String, String>, IndexError> {
        let mut query = self
            .connection
            .prepare_cached("SELECT name, amends FROM record WHERE unit = ?1 AND amends IS NOT NULL")?;
        let rows = query.query_map([self.word(unit)?], |row| Ok((row.get(0)?, row.get(1)?)))?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// Returns the sessions of a unit that count, in the order of their names.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn sessions(&self, unit: &str) -> Result<Vec<String>, IndexError> {
        self.texts("SELECT name FROM record WHERE unit = ?1 AND counts ORDER BY name", &[&self.word(unit)?])
    }
}
