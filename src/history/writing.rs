use std::collections::HashMap;

use rusqlite::{OptionalExtension, Transaction, params};

use super::amended;
use super::gathered::{Gathered, GatheredCircuit};
use super::paired::{pair, pair_anew, part};
use super::tallies::{Tallies, TallyKey};
use crate::leak::Verdict;

/// Stands for the verdict of a reading whose record does not count.
const NOT_COUNTED: i64 = -1;

/// Picks the readings of a record by the key that they are kept in order of.
const OF_RECORD: &str = "WHERE unit = (SELECT unit FROM record WHERE id = ?1) AND record = ?1
    AND circuit IN (SELECT circuit FROM circuit WHERE record = ?1)";

/// How verdicts are written in the index.
pub(super) fn verdict_code(verdict: Option<Verdict>) -> i64 {
    match verdict {
        Some(Verdict::Holds) => 0,
        Some(Verdict::Worn) => 1,
        Some(Verdict::Leaks) => 2,
        Some(Verdict::Retest) => 3,
        None => 4,
        Some(Verdict::Unjudged) => 5,
    }
}

/// Reads a verdict as [`verdict_code`] writes it.
pub(super) fn verdict_of(code: i64) -> Option<Verdict> {
    match code {
        0 => Some(Verdict::Holds),
        1 => Some(Verdict::Worn),
        2 => Some(Verdict::Leaks),
        3 => Some(Verdict::Retest),
        5 => Some(Verdict::Unjudged),
        _ => None,
    }
}

/// Puts records into the index and takes them out, within a transaction.
#[derive(Default)]
pub(super) struct Writer {
    words: HashMap<String, i64>,
    tallies: Tallies,
}

impl Writer {
    /// Adds a record that is not in the index yet.
    pub(super) fn add(&mut self, transaction: &Transaction<'_>, record: &Gathered) -> rusqlite::Result<()> {
        let mut word = |text: &str| self.word(transaction, text);
        let (unit, month) = (word(&record.unit)?, word(&record.month)?);
        let (technician, rig) = (word(&record.technician)?, word(&record.rig)?);
        transaction
            .prepare_cached("INSERT INTO record VALUES (NULL, ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, 0)")?
            .execute(params![
                record.session,
                record.finished,
                unit,
                month,
                technician,
                rig,
                record.confidence,
                record.job,
                record.amends,
                record.after
            ])?;
        let id = transaction.last_insert_rowid();
        let counts = amended::shall_count(transaction, id)?;
        for circuit in &record.circuits {
            self.add_circuit(transaction, (id, unit), record, circuit, counts)?;
        }
        for (n, check) in record.checks.iter().enumerate() {
            transaction
                .prepare_cached("INSERT INTO drift VALUES (?1, ?2, ?3, ?4, ?5, ?6)")?
                .execute(params![rig, check.at, id, n as i64, check.plugged, check.through])?;
        }
        if let Some(money) = &record.money {
            let currency = self.word(transaction, &money.currency)?;
            transaction
                .prepare_cached("INSERT INTO account VALUES (?1, ?2, ?3, ?4, ?5)")?
                .execute(params![id, currency, money.total, money.replacement, money.is_replaced])?;
        }
        // What no longer counts makes room first: a circuit has one before and one after.
        if let Some(amended) = &record.amends {
            for other in amended::beside(transaction, amended, id)? {
                self.settle(transaction, other)?;
            }
        }
        if counts && amended::set_counts(transaction, id, true)? {
            self.count(transaction, id, 1)?;
        }
        if let Some(last) = amended::last(transaction, &record.session)?.filter(|last| *last != id) {
            pair_anew(transaction, last)?;
        }
        Ok(())
    }

    fn add_circuit(
        &mut self,
        transaction: &Transaction<'_>,
        (id, unit): (i64, i64),
        record: &Gathered,
        circuit: &GatheredCircuit,
        counts: bool,
    ) -> rusqlite::Result<()> {
        let name = self.word(transaction, &circuit.name)?;
        let decided =
            circuit.decided.as_deref().map(|decided| self.word(transaction, decided)).transpose()?;
        // The reading that a verdict rests on is the lowest.
        let standard = circuit.readings.iter().map(|reading| reading.standard).reduce(f64::min);
        transaction
            .prepare_cached("INSERT OR REPLACE INTO circuit VALUES (?1, ?2, ?3, ?4, ?5)")?
            .execute(params![id, name, verdict_code(circuit.verdict), decided, standard])?;
        for (n, reading) in circuit.readings.iter().enumerate() {
            transaction
                .prepare_cached("INSERT OR REPLACE INTO reading VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)")?
                .execute(params![
                    unit,
                    name,
                    id,
                    n as i64,
                    reading.standard,
                    reading.normal,
                    reading.rectangle,
                    record.confidence,
                    if counts { verdict_code(circuit.verdict) } else { NOT_COUNTED }
                ])?;
        }
        let holds = circuit.limits.map(|limits| limits.holds().si());
        let leaks = circuit.limits.map(|limits| limits.leaks().si());
        transaction
            .prepare_cached(
                "INSERT INTO latest VALUES (?1, ?2, ?3, ?4, ?5) ON CONFLICT DO UPDATE SET holds = excluded.holds,
                 leaks = excluded.leaks, finished = excluded.finished WHERE excluded.finished >= finished",
            )?
            .execute(params![unit, name, holds, leaks, record.finished])?;
        Ok(())
    }

    /// Takes a record out.
    pub(super) fn remove(&mut self, transaction: &Transaction<'_>, name: &str) -> rusqlite::Result<()> {
        let Some(id) = id_of(transaction, name)? else { return Ok(()) };
        let last = amended::last(transaction, name)?.filter(|last| *last != id);
        self.stop_counting(transaction, id)?;
        let amends: Option<String> = transaction
            .prepare_cached("SELECT amends FROM record WHERE id = ?1")?
            .query_row([id], |row| row.get(0))?;
        transaction.prepare_cached(&format!("DELETE FROM reading {OF_RECORD}"))?.execute([id])?;
        for table in ["circuit", "account", "drift"] {
            transaction.prepare_cached(&format!("DELETE FROM {table} WHERE record = ?1"))?.execute([id])?;
        }
        transaction.prepare_cached("DELETE FROM record WHERE id = ?1")?.execute([id])?;
        // What it amended stands for itself again, unless another record amends that too.
        if let Some(amended) = amends {
            for other in amended::beside(transaction, &amended, id)? {
                self.settle(transaction, other)?;
            }
        }
        if let Some(last) = last {
            pair_anew(transaction, last)?;
        }
        Ok(())
    }

    /// Adds what waits to the sums on the disk.
    pub(super) fn flush(&mut self, transaction: &Transaction<'_>) -> rusqlite::Result<()> {
        self.tallies.flush(transaction)
    }

    /// Has a record count or not, as those around it say.
    fn settle(&mut self, transaction: &Transaction<'_>, id: i64) -> rusqlite::Result<()> {
        if amended::shall_count(transaction, id)? {
            self.start_counting(transaction, id)
        } else {
            self.stop_counting(transaction, id)
        }
    }

    fn start_counting(&mut self, transaction: &Transaction<'_>, id: i64) -> rusqlite::Result<()> {
        if !amended::set_counts(transaction, id, true)? {
            return Ok(());
        }
        transaction
            .prepare_cached(&format!(
                "UPDATE reading SET was = (SELECT verdict FROM circuit c WHERE c.record = reading.record
                 AND c.circuit = reading.circuit) {OF_RECORD}"
            ))?
            .execute([id])?;
        self.count(transaction, id, 1)
    }

    fn stop_counting(&mut self, transaction: &Transaction<'_>, id: i64) -> rusqlite::Result<()> {
        if !amended::set_counts(transaction, id, false)? {
            return Ok(());
        }
        transaction
            .prepare_cached(&format!("UPDATE reading SET was = {NOT_COUNTED} {OF_RECORD}"))?
            .execute([id])?;
        self.count(transaction, id, -1)
    }

    /// Adds a record to the sums and pairs it with those before and after it, or takes it away again.
    fn count(&mut self, transaction: &Transaction<'_>, id: i64, sign: i64) -> rusqlite::Result<()> {
        let (unit, month, technician, rig, again) = transaction
            .prepare_cached(
                "SELECT unit, month, technician, rig, after IS NOT NULL FROM record WHERE id = ?1",
            )?
            .query_row([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?)))?;
        let mut circuits =
            transaction.prepare_cached("SELECT circuit, verdict FROM circuit WHERE record = ?1")?;
        let mut standards = transaction.prepare_cached(
            "SELECT standard FROM reading WHERE unit = ?1 AND circuit = ?2 AND record = ?3",
        )?;
        let mut rows = circuits.query([id])?;
        while let Some(row) = rows.next()? {
            let (circuit, verdict): (i64, i64) = (row.get(0)?, row.get(1)?);
            let of_circuit: Vec<f64> =
                standards.query_map([unit, circuit, id], |row| row.get(0))?.collect::<Result<_, _>>()?;
            let key = TallyKey { unit, circuit, month, technician, rig, verdict, again };
            self.tallies.circuit(key, of_circuit.into_iter(), sign);
        }
        let account: Option<(i64, f64, f64)> = transaction
            .prepare_cached(
                "SELECT currency, total, replacement - total FROM account WHERE record = ?1 AND NOT is_replaced",
            )?
            .query_row([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
            .optional()?;
        if let Some((currency, total, saved)) = account.filter(|_| !again) {
            self.tallies.money(month, currency, total, saved, sign);
        }
        if sign > 0 { pair(transaction, id) } else { part(transaction, id) }
    }

    fn word(&mut self, transaction: &Transaction<'_>, text: &str) -> rusqlite::Result<i64> {
        if let Some(id) = self.words.get(text) {
            return Ok(*id);
        }
        transaction.prepare_cached("INSERT OR IGNORE INTO word (text) VALUES (?1)")?.execute([text])?;
        let id = transaction
            .prepare_cached("SELECT id FROM word WHERE text = ?1")?
            .query_row([text], |row| row.get(0))?;
        self.words.insert(text.to_owned(), id);
        Ok(id)
    }
}

fn id_of(transaction: &Transaction<'_>, name: &str) -> rusqlite::Result<Option<i64>> {
    transaction
        .prepare_cached("SELECT id FROM record WHERE name = ?1")?
        .query_row([name], |row| row.get(0))
        .optional()
}
