use rusqlite::OptionalExtension;

use crate::history::{Index, IndexError};

impl Index {
    /// Returns the units that records are of, in the order of the alphabet.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn units(&self) -> Result<Vec<String>, IndexError> {
        self.texts("SELECT text FROM word WHERE id IN (SELECT DISTINCT unit FROM latest) ORDER BY text", &[])
    }

    /// Returns the circuits of a unit, in the order of the alphabet, `circuit 2` before `circuit 10`.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn circuits(&self, unit: &str) -> Result<Vec<String>, IndexError> {
        let mut circuits = self.texts(
            "SELECT text FROM word WHERE id IN (SELECT circuit FROM latest WHERE unit = ?1)",
            &[&self.word(unit)?],
        )?;
        alphanumeric_sort::sort_str_slice(&mut circuits);
        Ok(circuits)
    }

    /// Returns the rigs that records are of, in the order of the alphabet.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn rigs(&self) -> Result<Vec<String>, IndexError> {
        self.texts("SELECT text FROM word WHERE id IN (SELECT DISTINCT rig FROM record) ORDER BY text", &[])
    }

    pub(super) fn texts(
        &self,
        query: &str,
        parameters: &[&dyn rusqlite::ToSql],
    ) -> Result<Vec<String>, IndexError> {
        let mut query = self.connection.prepare_cached(query)?;
        let texts = query.query_map(parameters, |row| row.get(0))?;
        Ok(texts.collect::<Result<_, _>>()?)
    }

    /// Returns the number of a word; none where no record has it, which then matches nothing.
    pub(super) fn word(&self, text: &str) -> Result<Option<i64>, IndexError> {
        let mut query = self.connection.prepare_cached("SELECT id FROM word WHERE text = ?1")?;
        Ok(query.query_row([text], |row| row.get(0)).optional()?)
    }

    pub(super) fn text(&self, word: i64) -> Result<String, IndexError> {
        let mut query = self.connection.prepare_cached("SELECT text FROM word WHERE id = ?1")?;
        Ok(query.query_row([word], |row| row.get(0))?)
    }
}
