use crate::history::writing::verdict_of;
use crate::history::{Index, IndexError};
use crate::leak::{Limits, Spread, Verdict, verdict};

/// What other limits would make of a circuit's records.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Judged {
    /// How many records have a verdict on the circuit.
    pub n_records: usize,
    /// Those that would have another one, oldest first.
    pub changed: Vec<Changed>,
}

/// A record that other limits would judge otherwise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Changed {
    /// The session.
    pub session: String,
    /// The verdict that it has.
    pub was: Verdict,
    /// The verdict that it would have.
    pub would_be: Verdict,
}

impl Index {
    /// Judges all readings of a unit's circuit by other limits.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn judged_by(&self, unit: &str, circuit: &str, limits: &Limits) -> Result<Judged, IndexError> {
        // One transaction for all: the file is locked once, not for every name, and nobody adds records in between.
        let _snapshot = self.connection.unchecked_transaction()?;
        let mut query = self.connection.prepare_cached(
            "SELECT record, was, confidence, standard, normal, rectangle FROM reading
             WHERE unit = ?1 AND circuit = ?2 AND was BETWEEN 0 AND 3 ORDER BY record",
        )?;
        let mut rows = query.query([self.word(unit)?, self.word(circuit)?])?;
        let mut judged: Vec<(i64, Verdict, Verdict)> = Vec::new();
        while let Some(row) = rows.next()? {
            let (record, Some(was)) = (row.get(0)?, verdict_of(row.get(1)?)) else { continue };
            let spread = Spread { normal: row.get(4)?, rectangle: row.get(5)? };
            let now = verdict(row.get(3)?, &spread, limits, row.get(2)?);
            match judged.last_mut() {
                Some((last, _, worst)) if *last == record => {
                    *worst = Verdict::worst([*worst, now]).unwrap_or(now);
                }
                _ => judged.push((record, was, now)),
            }
        }
        let n_records = judged.len();
        let mut changed = Vec::new();
        // Many may be changed: both go through their records in order, instead of a lookup for each.
        let mut query =
            self.connection.prepare_cached("SELECT id, name FROM record WHERE unit = ?1 ORDER BY id")?;
        let mut names = query.query([self.word(unit)?])?;
        for (record, was, would_be) in judged.into_iter().filter(|(_, was, would_be)| was != would_be) {
            while let Some(row) = names.next()? {
                if row.get::<_, i64>(0)? == record {
                    changed.push(Changed { session: row.get(1)?, was, would_be });
                    break;
                }
            }
        }
        changed.sort_by(|one, other| one.session.cmp(&other.session));
        Ok(Judged { n_records, changed })
    }
}
