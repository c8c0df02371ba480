use jiff::Timestamp;
use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, Null, ToSql, ToSqlOutput, ValueRef};
use rusqlite::{OptionalExtension, Transaction, params};

use crate::leak::Verdict;
use crate::record::{
    CircuitRecord, LEAVE_IT, Plan, REPLACE, ReadingRecord, Record, RigParts, Unaccounted, VerdictCounts,
};
use crate::tell::orifice_kind;

/// Every verdict as the tables call it; a circuit that was not tested has none.
const CALLED: [(Verdict, &str); 9] = [
    (Verdict::Holds, "holds"),
    (Verdict::Worn, "worn"),
    (Verdict::Leaks, "leaks"),
    (Verdict::Right, "right"),
    (Verdict::Open, "open"),
    (Verdict::Tight, "tight"),
    (Verdict::Retest, "retest"),
    (Verdict::Unjudged, "unjudged"),
    (Verdict::NotFitted, "unfitted"),
];

impl FromSql for Verdict {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Verdict> {
        let text = value.as_str()?;
        let found = CALLED.iter().find(|(_, called)| *called == text);
        found.map(|(verdict, _)| *verdict).ok_or(FromSqlError::InvalidType)
    }
}

impl ToSql for Verdict {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        let called = CALLED.iter().find(|(verdict, _)| verdict == self).map(|(_, called)| *called);
        Ok(called.map_or(ToSqlOutput::from(Null), ToSqlOutput::from))
    }
}

/// Adds a record that is not in the index yet, whatever of its family came before.
pub(super) fn add(transaction: &Transaction<'_>, record: &Record) -> rusqlite::Result<()> {
    let family = match &record.amends {
        Some(amends) => family_of(transaction, &amends.earlier.session)?,
        None => record.session.clone(),
    };
    let id = add_record(transaction, record, &family)?;
    let standing = standing(transaction, &family)?;
    let outdated: Vec<i64> = transaction
        .prepare_cached("SELECT id FROM record WHERE family IN ($1, $2) AND counts AND session <> $3")?
        .query_map([&family, &record.session, &standing], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    for other in outdated {
        forget_what_it_says(transaction, other)?;
        transaction.prepare_cached("UPDATE record SET counts = FALSE WHERE id = $1")?.execute([other])?;
    }
    // Those that came before it went by its own name.
    for column in ["family", "follows"] {
        transaction
            .prepare_cached(&format!("UPDATE record SET {column} = $1 WHERE {column} = $2"))?
            .execute([&family, &record.session])?;
    }
    if standing == record.session {
        transaction.prepare_cached("UPDATE record SET counts = TRUE WHERE id = $1")?.execute([id])?;
        add_what_it_says(transaction, record, id)?;
    }
    Ok(())
}

/// Takes a record out, and with it its family: they are to be read again, since another of them may count now.
pub(super) fn forget(transaction: &Transaction<'_>, session: &str) -> rusqlite::Result<()> {
    let family = family_of(transaction, session)?;
    let ids: Vec<i64> = transaction
        .prepare_cached("SELECT id FROM record WHERE family = $1")?
        .query_map([&family], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    for id in ids {
        forget_what_it_says(transaction, id)?;
        transaction.prepare_cached("DELETE FROM record WHERE id = $1")?.execute([id])?;
    }
    transaction.prepare_cached("UPDATE record SET follows = after WHERE follows = $1")?.execute([&family])?;
    Ok(())
}

/// Returns the family of a session: as far as is known, the first of those that amend one another.
fn family_of(transaction: &Transaction<'_>, session: &str) -> rusqlite::Result<String> {
    let found = transaction
        .prepare_cached("SELECT family FROM record WHERE session = $1")?
        .query_row([session], |row| row.get(0))
        .optional()?;
    Ok(found.unwrap_or_else(|| session.to_owned()))
}

/// Returns which one of a family counts: what amends the first of them last, and what amends that.
fn standing(transaction: &Transaction<'_>, family: &str) -> rusqlite::Result<String> {
    let mut amending = transaction.prepare_cached(
        "SELECT session FROM record WHERE amends = $1 ORDER BY finished DESC, session DESC LIMIT 1",
    )?;
    let mut standing = family.to_owned();
    let mut passed = Vec::new();
    while let Some(later) = amending.query_row([&standing], |row| row.get(0)).optional()?
        && !passed.contains(&later)
    {
        passed.push(std::mem::replace(&mut standing, later));
    }
    Ok(standing)
}

fn add_record(transaction: &Transaction<'_>, record: &Record, family: &str) -> rusqlite::Result<i64> {
    let after = after(record);
    let follows = after.map(|after| family_of(transaction, after)).transpose()?;
    let counts = VerdictCounts::of(&record.circuits);
    let standards = || record.circuits.iter().flat_map(alike).map(standard);
    transaction
        .prepare_cached(
            "INSERT INTO record (session, amends, family, counts, after, follows, finished, month, unit, technician, rig,
                 confidence, job, n_holds, n_right, n_worn, n_leaks, n_open, n_tight, n_retest, n_unjudged, n_unfitted,
                 n_untested, readings, total)
             VALUES ($1, $2, $3, FALSE, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22,
                 $23, $24)
             RETURNING id",
        )?
        .query_row(
            params![
                record.session,
                record.amends.as_ref().map(|amends| &amends.earlier.session),
                family,
                after,
                follows,
                record.finished.as_second(),
                month(record),
                unit(record),
                record.tested_by().unwrap_or_else(|| "nobody named".to_owned()),
                rig(&record.rig),
                record.confidence,
                record.job,
                counts.holds,
                counts.right,
                counts.worn,
                counts.leaks,
                counts.open,
                counts.tight,
                counts.retest,
                counts.not_judged,
                counts.not_fitted,
                counts.not_tested,
                standards().count(),
                standards().sum::<f64>()
            ],
            |row| row.get(0),
        )
}

/// The session whose circuits a record tests again.
fn after(record: &Record) -> Option<&str> {
    record.plan.as_ref().and_then(|plan| plan.after.as_ref()).map(|after| after.session.as_str())
}

/// The unit that was tested, or the procedure's title.
fn unit(record: &Record) -> &str {
    record.procedure.unit.as_ref().unwrap_or(&record.procedure.title)
}

/// The month in which the bench was read, as `2026-11`: an amendment is finished when it was made, so the checks of the rig
/// say it.
fn month(record: &Record) -> String {
    let read = checks(record).last().map_or(record.finished, |check| check.at);
    record.day(read).chars().take("2026-11".len()).collect()
}

/// The rig, by its orifice and gauge.
fn rig(parts: &RigParts) -> String {
    let orifice = parts.orifice;
    format!("{} {}, gauge {}", orifice.diameter(), orifice_kind(orifice.kind()), parts.dial.grade())
}

/// When a rig was checked, against which of a record's calibrations, and how much deeper in Pa it read.
struct Checked {
    at: Timestamp,
    calibration: usize,
    plugged: f64,
    through: f64,
}

fn checks(record: &Record) -> impl Iterator<Item = Checked> {
    record.checks.iter().filter_map(|check| {
        let calibration = record.calibrations.get(check.calibration.checked_sub(1)?)?;
        let (plugged, _) = record.read_at(check.plugged)?;
        let (through, at) = record.read_at(check.through)?;
        Some(Checked {
            at,
            calibration: check.calibration,
            plugged: plugged.si - calibration.plugged_pa,
            through: through.si - calibration.through_pa,
        })
    })
}

/// The readings of a circuit that count.
fn counting(circuit: &CircuitRecord) -> impl Iterator<Item = &ReadingRecord> {
    circuit.readings.iter().filter(|reading| !reading.trial)
}

/// Those of them that have no limits of their own, which are of another place.
fn alike(circuit: &CircuitRecord) -> impl Iterator<Item = &ReadingRecord> {
    counting(circuit).filter(|reading| !is_apart(circuit, reading))
}

fn is_apart(circuit: &CircuitRecord, reading: &ReadingRecord) -> bool {
    circuit.spot(reading).limits != circuit.circuit.limits
}

fn standard(reading: &ReadingRecord) -> f64 {
    reading.meaning.standard_reading_pa.value
}

/// Adds what a record that counts says.
fn add_what_it_says(transaction: &Transaction<'_>, record: &Record, id: i64) -> rusqlite::Result<()> {
    let wanted = Plan::after_repair(record);
    for circuit in &record.circuits {
        let is_wanted = wanted.includes(&circuit.circuit.name);
        add_circuit(transaction, record, id, circuit, is_wanted)?;
    }
    let division = record.rig.dial.smallest_division().si();
    for (n, Checked { at, calibration, plugged, through }) in checks(record).enumerate() {
        transaction
            .prepare_cached("INSERT INTO rig_check VALUES ($1, $2, $3, $4, $5, $6, $7, $8)")?
            .execute(params![
                id,
                n,
                rig(&record.rig),
                at.as_second(),
                plugged,
                through,
                calibration,
                division
            ])?;
    }
    // What is only left as it is neither costs nor saves.
    let is_decided = record.decisions.iter().any(|decision| decision.decided != LEAVE_IT);
    let (account, prices) = (&record.account, &record.account.prices);
    if let (true, Some(total), Some(replacement)) = (is_decided, account.total, prices.replacement) {
        let currency = prices.currency.as_deref().unwrap_or_default();
        let Unaccounted { undecided, untested } = Unaccounted::of(record);
        let is_replaced = record.decisions.iter().any(|decision| decision.decided == REPLACE);
        transaction
            .prepare_cached("INSERT INTO account VALUES ($1, $2, $3, $4, $5, $6)")?
            .execute(params![id, currency, total, replacement, is_replaced, undecided + untested])?;
    }
    Ok(())
}

/// Adds a circuit; of two with one name in a record, which no procedure describes, only the first.
fn add_circuit(
    transaction: &Transaction<'_>,
    record: &Record,
    id: i64,
    circuit: &CircuitRecord,
    is_wanted: bool,
) -> rusqlite::Result<()> {
    let (unit, name, limits) = (unit(record), &circuit.circuit.name, circuit.circuit.limits);
    transaction
        .prepare_cached(
            "INSERT INTO circuit (unit, name, lower_limit, upper_limit, is_window, finished) VALUES ($1, $2, $3, $4, $5, $6)
             ON CONFLICT (unit, name) DO UPDATE
             SET lower_limit = excluded.lower_limit, upper_limit = excluded.upper_limit, is_window = excluded.is_window,
                 finished = excluded.finished
             WHERE excluded.finished >= circuit.finished",
        )?
        .execute(params![
            unit,
            name,
            limits.map(|limits| limits.lower().si()),
            limits.map(|limits| limits.upper().si()),
            limits.is_some_and(|limits| limits.is_window()),
            record.finished.as_second()
        ])?;
    let number: i64 = transaction
        .prepare_cached("SELECT id FROM circuit WHERE unit = $1 AND name = $2")?
        .query_row([unit, name], |row| row.get(0))?;
    let again = after(record).is_some();
    let decision = record.decisions.iter().find(|decision| decision.circuit == *name);
    let standards = || alike(circuit).map(standard);
    transaction
        .prepare_cached(
            "INSERT INTO test VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) ON CONFLICT DO NOTHING",
        )?
        .execute(params![
            id,
            number,
            again,
            circuit.verdict,
            decision.map(|decision| &decision.decided),
            is_wanted,
            standards().reduce(f64::min),
            standards().count(),
            standards().sum::<f64>()
        ])?;
    for (n, reading) in counting(circuit).enumerate() {
        let spread = reading.meaning.budget.spread();
        transaction
            .prepare_cached(
                "INSERT INTO reading VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) ON CONFLICT DO NOTHING",
            )?
            .execute(params![
                number,
                id,
                n,
                again,
                circuit.verdict,
                standard(reading),
                spread.normal,
                spread.rectangle,
                is_apart(circuit, reading).then(|| reading.verdict())
            ])?;
    }
    Ok(())
}

fn forget_what_it_says(transaction: &Transaction<'_>, id: i64) -> rusqlite::Result<()> {
    for forget in [
        "DELETE FROM reading WHERE record = $1 AND circuit IN (SELECT circuit FROM test WHERE record = $1)",
        "DELETE FROM test WHERE record = $1",
        "DELETE FROM rig_check WHERE record = $1",
        "DELETE FROM account WHERE record = $1",
    ] {
        transaction.prepare_cached(forget)?.execute([id])?;
    }
    Ok(())
}
