use rusqlite::{OptionalExtension, params};

use crate::history::tallies::STEP;
use crate::history::writing::verdict_code;
use crate::history::{Index, IndexError, Tests};
use crate::leak::{Limits, Verdict};
use crate::quantity::Pressure;

/// How the standard readings of a circuit spread. Vacuums are in Pa.
#[derive(Debug, Clone, PartialEq)]
pub struct SpreadOf {
    /// How many readings.
    pub n: u64,
    /// Their mean.
    pub mean: f64,
    /// Their standard deviation, with n - 1; 0 for one.
    pub deviation: f64,
    /// How many belong to tests that were left undecided.
    pub n_undecided: u64,
    /// How many lie in each step of 0.05 inHg: where it begins, and their number; steps without any are left out.
    pub bins: Vec<(f64, u64)>,
    /// The readings, the least first.
    pub readings: Vec<f64>,
    /// The limits that the circuit had last.
    pub limits: Option<Limits>,
}

impl SpreadOf {
    /// Returns the least reading that at least this share of the readings does not exceed; 0 where there is none.
    pub fn quantile(&self, share: f64) -> f64 {
        let wanted = (share * self.readings.len() as f64).ceil().max(1.0) as usize;
        self.readings.get(wanted - 1).or(self.readings.last()).copied().unwrap_or_default()
    }
}

impl Index {
    /// Returns how the standard readings of a unit's circuit spread; none where there are no readings.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn spread_of(&self, tests: Tests, unit: &str, circuit: &str) -> Result<Option<SpreadOf>, IndexError> {
        let parameters = params![self.word(unit)?, self.word(circuit)?, tests.is_again()];
        let mut query = self.connection.prepare_cached(
            "SELECT bin, n, sum, squares FROM bin WHERE unit = ?1 AND circuit = ?2 AND again = ?3 AND n > 0 ORDER BY bin",
        )?;
        let rows = query.query_map(parameters, |row| {
            Ok((
                row.get::<_, i64>(0)? as f64 * STEP,
                row.get::<_, u64>(1)?,
                row.get::<_, f64>(2)?,
                row.get::<_, f64>(3)?,
            ))
        })?;
        let bins: Vec<(f64, u64, f64, f64)> = rows.collect::<Result<_, _>>()?;
        let n: u64 = bins.iter().map(|(_, n, _, _)| n).sum();
        if n == 0 {
            return Ok(None);
        }
        let mean = bins.iter().map(|(from, n, sum, _)| from * *n as f64 + sum).sum::<f64>() / n as f64;
        // Within a bin, the readings are off the mean by (from - mean) and what they are above its beginning.
        let squares: f64 = bins
            .iter()
            .map(|(from, n, sum, squares)| {
                let off = from - mean;
                *n as f64 * off * off + 2.0 * off * sum + squares
            })
            .sum();
        let deviation = if n > 1 { (squares.max(0.0) / (n as f64 - 1.0)).sqrt() } else { 0.0 };
        let bins = bins.into_iter().map(|(from, n, _, _)| (from, n)).collect();
        let n_undecided = self
            .connection
            .prepare_cached(
                "SELECT COALESCE(SUM(n_readings), 0) FROM tally
                 WHERE unit = ?1 AND circuit = ?2 AND again = ?3 AND verdict = ?4",
            )?
            .query_row(
                params![
                    self.word(unit)?,
                    self.word(circuit)?,
                    tests.is_again(),
                    verdict_code(Some(Verdict::Retest))
                ],
                |row| row.get(0),
            )?;
        let limits = self.latest_limits(unit, circuit)?;
        let readings = self.readings(tests, unit, circuit)?;
        Ok(Some(SpreadOf { n, mean, deviation, n_undecided, bins, readings, limits }))
    }

    /// Returns all readings of a circuit that count, in Pa, the least first.
    fn readings(&self, tests: Tests, unit: &str, circuit: &str) -> Result<Vec<f64>, IndexError> {
        let mut query = self.connection.prepare_cached(
            "SELECT standard FROM reading WHERE unit = ?1 AND circuit = ?2 AND was >= 0
             AND (record IN (SELECT id FROM record WHERE unit = ?1 AND after IS NOT NULL)) = ?3",
        )?;
        let parameters = params![self.word(unit)?, self.word(circuit)?, tests.is_again()];
        let mut readings: Vec<f64> =
            query.query_map(parameters, |row| row.get(0))?.collect::<Result<_, _>>()?;
        readings.sort_unstable_by(f64::total_cmp);
        Ok(readings)
    }

    /// Returns the limits that a circuit had last.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn latest_limits(&self, unit: &str, circuit: &str) -> Result<Option<Limits>, IndexError> {
        let mut query = self
            .connection
            .prepare_cached("SELECT holds, leaks FROM latest WHERE unit = ?1 AND circuit = ?2")?;
        let found: Option<(Option<f64>, Option<f64>)> = query
            .query_row([self.word(unit)?, self.word(circuit)?], |row| Ok((row.get(0)?, row.get(1)?)))
            .optional()?;
        Ok(found.and_then(|(holds, leaks)| {
            Limits::new(Pressure::from_si(holds?)?, Pressure::from_si(leaks?)?).ok()
        }))
    }
}
