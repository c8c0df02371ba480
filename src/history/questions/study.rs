use crate::history::{Index, IndexError};
use crate::stats::StudyReading;

impl Index {
    /// Returns the standard readings, in Pa, of the latest record of each technician of a unit: a gauge study.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn study(&self, unit: &str) -> Result<Vec<StudyReading>, IndexError> {
        let mut query = self.connection.prepare_cached(
            "SELECT t.text, c.text, r.standard FROM (
                 SELECT technician, MAX(finished), id, unit FROM record WHERE unit = ?1 AND counts GROUP BY technician)
             latest JOIN circuit k ON k.record = latest.id
             JOIN reading r ON r.unit = latest.unit AND r.circuit = k.circuit AND r.record = latest.id
             JOIN word t ON t.id = latest.technician JOIN word c ON c.id = k.circuit
             ORDER BY t.text, c.id, r.n",
        )?;
        let rows = query.query_map([self.word(unit)?], |row| {
            Ok(StudyReading { operator: row.get(0)?, part: row.get(1)?, value: row.get(2)? })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}
