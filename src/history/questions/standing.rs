use std::collections::BTreeMap;

use crate::history::{Index, IndexError, amended};

impl Index {
    /// Returns the record that stands for the one of a session: itself, or what amends it last; none where there is none.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn standing_for(&self, session: &str) -> Result<Option<String>, IndexError> {
        let Some(id) = amended::last(&self.connection, session)? else { return Ok(None) };
        let mut query = self.connection.prepare_cached("SELECT name FROM record WHERE id = ?1")?;
        Ok(Some(query.query_row([id], |row| row.get(0))?))
    }

    /// Returns the records that amend others, by what they amend, the one that counts last.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn amendments(&self) -> Result<BTreeMap<String, Vec<String>>, IndexError> {
        let mut query = self.connection.prepare_cached(
            "SELECT amends, name FROM record WHERE amends IS NOT NULL ORDER BY finished, name",
        )?;
        let mut rows = query.query([])?;
        let mut amendments: BTreeMap<String, Vec<String>> = BTreeMap::new();
        while let Some(row) = rows.next()? {
            amendments.entry(row.get(0)?).or_default().push(row.get(1)?);
        }
        Ok(amendments)
    }

    /// Returns the sessions of a job that count, the oldest first.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn sessions_of_job(&self, job: &str) -> Result<Vec<String>, IndexError> {
        self.texts("SELECT name FROM record WHERE job = ?1 AND counts ORDER BY finished, name", &[&job])
    }
}
