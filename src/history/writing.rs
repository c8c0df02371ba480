use std::collections::HashMap;

use rusqlite::{OptionalExtension, Transaction, params};

use super::gathered::{Gathered, GatheredCircuit};
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
        let is_amended: bool = transaction
            .prepare_cached("SELECT EXISTS (SELECT 1 FROM record WHERE amends = ?1)")?
            .query_row([&record.session], |row| row.get(0))?;
        transaction
            .prepare_cached("INSERT INTO record VALUES (NULL, ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)")?
            .execute(params![
                record.session,
                record.finished,
                unit,
                month,
                technician,
                rig,
                record.confidence,
                record.amends,
                record.after,
                !is_amended
            ])?;
        let id = transaction.last_insert_rowid();
        for circuit in &record.circuits {
            self.add_circuit(transaction, (id, unit), record, circuit, !is_amended)?;
        }
        for (n, check) in record.checks.iter().enumerate() {
            transaction
                .prepare_cached("INSERT INTO drift VALUES (?1, ?2, ?3, ?4, ?5, ?6)")?
                .execute(params![rig, check.at, id, n as i64, check.plugged, check.through])?;
        }
        if let Some((currency, total, saved)) = &record.money {
            let currency = self.word(transaction, currency)?;
            transaction
                .prepare_cached("INSERT INTO account VALUES (?1, ?2, ?3, ?4)")?
                .execute(params![id, currency, total, saved])?;
        }
        if !is_amended {
            self.count(transaction, id, 1)?;
        }
        if let Some(amended) = &record.amends
            && let Some(amended) = id_of(transaction, amended)?
        {
            self.stop_counting(transaction, amended)?;
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
        if let Some(amended) = amends
            && let Some(amended) = id_of(transaction, &amended)?
        {
            let counts: bool = transaction
                .prepare_cached(
                    "SELECT counts OR EXISTS (SELECT 1 FROM record other WHERE other.amends = record.name)
                     FROM record WHERE id = ?1",
                )?
                .query_row([amended], |row| row.get(0))?;
            if !counts {
                transaction
                    .prepare_cached("UPDATE record SET counts = 1 WHERE id = ?1")?
                    .execute([amended])?;
                transaction
                    .prepare_cached(&format!(
                        "UPDATE reading SET was = (SELECT verdict FROM circuit c WHERE c.record = reading.record
                         AND c.circuit = reading.circuit) {OF_RECORD}"
                    ))?
                    .execute([amended])?;
                self.count(transaction, amended, 1)?;
            }
        }
        Ok(())
    }

    /// Adds what waits to the sums on the disk.
    pub(super) fn flush(&mut self, transaction: &Transaction<'_>) -> rusqlite::Result<()> {
        self.tallies.flush(transaction)
    }

    fn stop_counting(&mut self, transaction: &Transaction<'_>, id: i64) -> rusqlite::Result<()> {
        let counted = transaction
            .prepare_cached("UPDATE record SET counts = 0 WHERE id = ?1 AND counts = 1")?
            .execute([id])?;
        if counted == 0 {
            return Ok(());
        }
        transaction
            .prepare_cached(&format!("UPDATE reading SET was = {NOT_COUNTED} {OF_RECORD}"))?
            .execute([id])?;
        self.count(transaction, id, -1)
    }

    /// Adds a record to the sums and pairs it with those before and after it, or takes it away again.
    fn count(&mut self, transaction: &Transaction<'_>, id: i64, sign: i64) -> rusqlite::Result<()> {
        let (unit, month, technician, rig) = transaction
            .prepare_cached("SELECT unit, month, technician, rig FROM record WHERE id = ?1")?
            .query_row([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?;
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
            let key = TallyKey { unit, circuit, month, technician, rig, verdict };
            self.tallies.circuit(key, of_circuit.into_iter(), sign);
        }
        let account: Option<(i64, f64, f64)> = transaction
            .prepare_cached("SELECT currency, total, saved FROM account WHERE record = ?1")?
            .query_row([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
            .optional()?;
        if let Some((currency, total, saved)) = account {
            self.tallies.money(month, currency, total, saved, sign);
        }
        if sign > 0 {
            pair(transaction, id)
        } else {
            transaction
                .prepare_cached("DELETE FROM repair WHERE before = ?1 OR after = ?1")?
                .execute([id])
                .map(|_| ())
        }
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

/// Pairs a record's circuits with those of the record that it follows, and with those of the records that follow it,
/// among records that count.
fn pair(transaction: &Transaction<'_>, id: i64) -> rusqlite::Result<()> {
    const PAIRED: &str = "INSERT OR IGNORE INTO repair
        SELECT later.unit, then_.circuit, then_.decided, later.id, earlier.id, then_.verdict, now_.verdict,
               then_.standard, now_.standard
        FROM record later JOIN record earlier ON earlier.name = later.after
        JOIN circuit now_ ON now_.record = later.id AND now_.verdict < 4
        JOIN circuit then_ ON then_.record = earlier.id AND then_.circuit = now_.circuit
        WHERE then_.decided IS NOT NULL AND later.counts AND earlier.counts";
    transaction.prepare_cached(&format!("{PAIRED} AND later.id = ?1"))?.execute([id])?;
    transaction
        .prepare_cached(&format!(
            "{PAIRED} AND later.after = (SELECT name FROM record WHERE id = ?1) AND earlier.id = ?1"
        ))?
        .execute([id])
        .map(|_| ())
}

fn id_of(transaction: &Transaction<'_>, name: &str) -> rusqlite::Result<Option<i64>> {
    transaction
        .prepare_cached("SELECT id FROM record WHERE name = ?1")?
        .query_row([name], |row| row.get(0))
        .optional()
}
