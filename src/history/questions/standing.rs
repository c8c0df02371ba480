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

    /// Returns the sessions whose records count and test again what one of these names found, the latest last.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn tested_again_in(&self, session: &str) -> Result<Vec<String>, IndexError> {
        self.texts(
            "WITH RECURSIVE meant(name) AS (
                 SELECT ?1
                 UNION SELECT record.amends FROM record JOIN meant ON record.name = meant.name
                 WHERE record.amends IS NOT NULL
                 UNION SELECT record.name FROM record JOIN meant ON record.amends = meant.name)
             SELECT record.name FROM record JOIN meant ON record.after = meant.name
             WHERE counts ORDER BY finished, record.name",
            &[&session],
        )
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

    /// Returns the sessions of a job that count, in the order in which they were tested: an amendment was tested when what it
    /// amends was.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn sessions_of_job(&self, job: &str) -> Result<Vec<String>, IndexError> {
        self.texts(
            "SELECT name FROM record WHERE job = ?1 AND counts ORDER BY COALESCE(
                 (SELECT MAX(d.at) FROM drift d WHERE d.record = record.id), finished), finished, name",
            &[&job],
        )
    }
}
