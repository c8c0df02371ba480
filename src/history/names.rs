use std::collections::BTreeMap;

use rusqlite::types::ToSql;

use super::{Index, IndexError};

/// What the index knows by name, and which record stands for which.
impl Index {
    /// Returns the units that records are of, in the order of the alphabet.
    pub(crate) fn units(&self) -> Result<Vec<String>, IndexError> {
        self.texts("SELECT DISTINCT unit FROM circuit ORDER BY unit", &[])
    }

    /// Returns the circuits of a unit, in the order of the alphabet, `circuit 2` before `circuit 10`.
    pub(crate) fn circuits(&self, unit: &str) -> Result<Vec<String>, IndexError> {
        let mut circuits = self.texts("SELECT DISTINCT name FROM circuit WHERE unit = $1", &[&unit])?;
        alphanumeric_sort::sort_str_slice(&mut circuits);
        Ok(circuits)
    }

    /// Returns the rigs that records are of, in the order of the alphabet.
    pub(crate) fn rigs(&self) -> Result<Vec<String>, IndexError> {
        self.texts("SELECT DISTINCT rig FROM asked_record ORDER BY rig", &[])
    }

    /// Returns the benches that records are of, each with its number in the index, in the order of the alphabet.
    pub(crate) fn benches(&self) -> Result<Vec<(i64, String)>, IndexError> {
        self.ask("SELECT id, name FROM bench ORDER BY name", &[], |row| Ok((row.get(0)?, row.get(1)?)))
    }

    /// Returns the sessions of a unit that count, in the order of their names.
    pub(crate) fn sessions(&self, unit: &str) -> Result<Vec<String>, IndexError> {
        self.texts("SELECT session FROM asked_record WHERE unit = $1 AND counts ORDER BY session", &[&unit])
    }

    /// Returns the record that stands for the one of a session: itself, or what amends it last; none
    /// where there is none.
    pub(crate) fn standing_for(&self, session: &str) -> Result<Option<String>, IndexError> {
        let standing = self.texts(
            "SELECT session FROM record
             WHERE counts AND family = COALESCE((SELECT family FROM record WHERE session = $1), $1)",
            &[&session],
        )?;
        Ok(standing.into_iter().next())
    }

    /// Returns the sessions whose records count and test again what one of these names found, the latest last.
    pub(crate) fn tested_again_in(&self, session: &str) -> Result<Vec<String>, IndexError> {
        self.texts(
            "SELECT session FROM record
             WHERE counts AND follows = COALESCE((SELECT family FROM record WHERE session = $1), $1)
             ORDER BY finished, session",
            &[&session],
        )
    }

    /// Returns the records that amend others, by what they amend, the one that counts last.
    pub(crate) fn amendments(&self) -> Result<BTreeMap<String, Vec<String>>, IndexError> {
        let sql = "SELECT amends, session FROM record WHERE amends IS NOT NULL ORDER BY finished, session";
        let mut amendments: BTreeMap<String, Vec<String>> = BTreeMap::new();
        self.ask(sql, &[], |row| {
            amendments.entry(row.get(0)?).or_default().push(row.get(1)?);
            Ok(())
        })?;
        Ok(amendments)
    }

    /// Returns the files among the records that are left out, with what is wrong.
    pub(crate) fn skipped(&self) -> Result<Vec<(String, String)>, IndexError> {
        self.ask("SELECT name, why FROM skipped ORDER BY name", &[], |row| Ok((row.get(0)?, row.get(1)?)))
    }

    /// Returns how many attempts others hold back from who asks.
    pub(crate) fn n_held_back(&self) -> Result<usize, IndexError> {
        let Some(by) = &self.asked().by else { return Ok(0) };
        let sql = "SELECT COUNT(*) FROM record WHERE COALESCE(held_back_by, '') NOT IN ('', $1)";
        let n = self.ask(sql, &[by], |row| row.get(0))?;
        Ok(n.first().copied().unwrap_or_default())
    }

    /// Returns how many records are in the index, those that were amended included.
    pub(crate) fn n_records(&self) -> Result<usize, IndexError> {
        let n = self.ask("SELECT COUNT(*) FROM record", &[], |row| row.get(0))?;
        Ok(n.first().copied().unwrap_or_default())
    }

    fn texts(&self, sql: &str, parameters: &[&dyn ToSql]) -> Result<Vec<String>, IndexError> {
        self.ask(sql, parameters, |row| row.get(0))
    }
}
