use std::collections::HashSet;

use super::{Index, IndexError, Tests};
use crate::leak::{Limits, Spread, Verdict, verdict};
use crate::quantity::{INCH_OF_MERCURY, Pressure};
use crate::record::piece_in_round;
use crate::stats::{StudyReading, Summary};

/// How the standard readings of a circuit spread. Vacuums are in Pa.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ReadingSpread {
    pub summary: Summary,
    /// How many belong to tests that were left undecided.
    pub n_undecided: usize,
    /// How many readings are left out, as no two takes of them agree.
    pub n_differing: usize,
    /// The readings, the least first; there is at least one.
    pub readings: Vec<f64>,
    /// The limits that the circuit had last.
    pub limits: Option<Limits>,
}

impl ReadingSpread {
    /// Returns the least reading that at least this share of the readings does not exceed.
    pub(crate) fn quantile(&self, share: f64) -> f64 {
        let wanted = (share * self.readings.len() as f64).ceil().max(1.0) as usize;
        self.readings.get(wanted - 1).or(self.readings.last()).copied().unwrap_or_default()
    }

    /// Returns how many readings lie in each step of 0.05 inHg: where it begins, and their number; steps
    /// without any are left out.
    pub(crate) fn bins(&self) -> Vec<(f64, u64)> {
        const STEP: f64 = 0.05 * INCH_OF_MERCURY;
        // A millionth of a step makes up for the rounding of what is a whole number of them.
        let number = |reading: f64| (reading / STEP + 1e-6).floor();
        let steps = self.readings.chunk_by(|one, other| number(*one) == number(*other));
        steps.map(|step| (number(step[0]) * STEP, step.len() as u64)).collect()
    }
}

/// What other limits would make of a circuit's records.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Judged {
    /// How many records have a verdict on the circuit.
    pub n_records: usize,
    /// Those that would have another one, oldest first.
    pub changed: Vec<Changed>,
}

/// A record that other limits would judge otherwise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Changed {
    pub session: String,
    pub was: Verdict,
    pub would_be: Verdict,
}

/// What a circuit read in a record.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct GoodUnit {
    pub session: String,
    /// The lowest standard reading of the circuit that counts.
    pub standard: Pressure,
    /// Whether it was tested again then, as after a repair.
    pub is_again: bool,
    /// The verdict that it got; none where it was not judged.
    pub verdict: Option<Verdict>,
}

impl Index {
    /// Returns how the standard readings of a unit's circuit spread; none where there are no readings.
    pub(crate) fn spread_of(
        &self,
        tests: Tests,
        unit: &str,
        circuit: &str,
    ) -> Result<Option<ReadingSpread>, IndexError> {
        let (mut n_undecided, mut n_differing) = (0, 0);
        let sql = include_str!("sql/spread.sql");
        let found = self.ask(sql, &[&unit, &circuit, &tests.is_again()], |row| {
            let standard: Option<f64> = row.get(0)?;
            let is_undecided = row.get::<Option<Verdict>>(1)? == Some(Verdict::Retest);
            n_undecided += usize::from(is_undecided && standard.is_some());
            n_differing += usize::from(standard.is_none());
            Ok(standard)
        })?;
        let mut readings: Vec<f64> = found.into_iter().flatten().collect();
        readings.sort_unstable_by(f64::total_cmp);
        let Some(summary) = Summary::of(&readings) else { return Ok(None) };
        let limits = self.latest_limits(unit, circuit)?;
        Ok(Some(ReadingSpread { summary, n_undecided, n_differing, readings, limits }))
    }

    /// Returns the limits that a circuit had last.
    pub(crate) fn latest_limits(&self, unit: &str, circuit: &str) -> Result<Option<Limits>, IndexError> {
        let sql = "SELECT lower_limit, upper_limit, is_window FROM circuit WHERE unit = $1 AND name = $2
                   ORDER BY finished DESC, bench DESC LIMIT 1";
        let found: Vec<(Option<f64>, Option<f64>, bool)> =
            self.ask(sql, &[&unit, &circuit], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
        Ok(found.first().and_then(|(lower, upper, is_window)| {
            let (lower, upper) = (Pressure::from_si((*lower)?)?, Pressure::from_si((*upper)?)?);
            if *is_window { Limits::window(lower, upper).ok() } else { Limits::new(upper, lower).ok() }
        }))
    }

    /// Judges all readings of a unit's circuit by other limits, but for those that have limits of their own.
    pub(crate) fn judged_by(&self, unit: &str, circuit: &str, limits: &Limits) -> Result<Judged, IndexError> {
        let mut judged: Vec<Changed> = Vec::new();
        self.ask(include_str!("sql/limits.sql"), &[&unit, &circuit], |row| {
            let session: String = row.get(0)?;
            let (standard, apart): (Option<f64>, Option<Verdict>) = (row.get(3)?, row.get(6)?);
            let now = match (apart, standard) {
                (Some(verdict), _) => verdict,
                // Takes that differ decide by no limits.
                (None, None) => Verdict::Retest,
                (None, Some(standard)) => {
                    let spread = Spread { normal: row.get(4)?, rectangle: row.get(5)? };
                    verdict(standard, &spread, limits, row.get(2)?)
                }
            };
            match judged.last_mut() {
                Some(last) if last.session == session => {
                    last.would_be = Verdict::worst([last.would_be, now]).unwrap_or(now);
                }
                _ => judged.push(Changed { session, was: row.get(1)?, would_be: now }),
            }
            Ok(())
        })?;
        let n_records = judged.len();
        judged.retain(|record| record.was != record.would_be);
        judged.sort_unstable_by(|one, other| one.session.cmp(&other.session));
        Ok(Judged { n_records, changed: judged })
    }

    /// Returns what a unit's circuit read in each of these sessions, or in every one of the unit's,
    /// by the session's name.
    ///
    /// Records that were amended do not count, nor does one whose unit was read again after a repair in another of
    /// them: that unit is counted as it then was.
    pub(crate) fn good_units(
        &self,
        unit: &str,
        circuit: &str,
        sessions: Option<&[String]>,
    ) -> Result<Vec<GoodUnit>, IndexError> {
        let rows = self.ask(include_str!("sql/good.sql"), &[&unit, &circuit], |row| {
            let (family, follows): (String, Option<String>) = (row.get(1)?, row.get(2)?);
            let (session, is_again, verdict) = (row.get(0)?, follows.is_some(), row.get(4)?);
            let good = |standard| GoodUnit { session, standard, is_again, verdict };
            Ok(Pressure::from_si(row.get(3)?).map(good).map(|unit| (family, follows, unit)))
        })?;
        let is_meant = |unit: &GoodUnit| sessions.is_none_or(|sessions| sessions.contains(&unit.session));
        let meant: Vec<_> = rows.into_iter().flatten().filter(|(.., unit)| is_meant(unit)).collect();
        let read_again: HashSet<String> =
            meant.iter().filter_map(|(_, follows, _)| follows.clone()).collect();
        let good = meant.into_iter().filter(|(family, ..)| !read_again.contains(family));
        let mut good: Vec<GoodUnit> = good.map(|(.., unit)| unit).collect();
        good.sort_unstable_by(|one, other| one.session.cmp(&other.session));
        Ok(good)
    }

    /// Returns the standard readings, in Pa, of the latest record of each technician of a unit: a gauge study.
    pub(crate) fn study(&self, unit: &str) -> Result<Vec<StudyReading>, IndexError> {
        self.ask(include_str!("sql/class.sql"), &[&unit], |row| {
            let circuit: String = row.get(1)?;
            let part = piece_in_round(&circuit).map_or(circuit.as_str(), |(piece, _)| piece).to_owned();
            Ok(StudyReading { operator: row.get(0)?, part, value: row.get(2)? })
        })
    }

    /// Returns the sessions of a gauge study, each with its technician.
    pub(crate) fn studied(&self, unit: &str) -> Result<Vec<(String, String)>, IndexError> {
        let sql = concat!(
            "SELECT DISTINCT session, technician FROM (",
            include_str!("sql/class.sql"),
            ") AS study ORDER BY session"
        );
        self.ask(sql, &[&unit], |row| Ok((row.get(0)?, row.get(1)?)))
    }

    /// Returns the names of technicians of a unit that a study takes for one, where they are spelled in several ways.
    pub(crate) fn spellings(&self, unit: &str) -> Result<Vec<Vec<String>>, IndexError> {
        let sql = "SELECT DISTINCT technician FROM asked_record WHERE unit = $1 AND counts
                   ORDER BY LOWER(TRIM(technician)), technician";
        let names: Vec<String> = self.ask(sql, &[&unit], |row| row.get(0))?;
        let alike = names.chunk_by(|one, other| one.trim().eq_ignore_ascii_case(other.trim()));
        Ok(alike.filter(|alike| alike.len() > 1).map(<[String]>::to_vec).collect())
    }
}
