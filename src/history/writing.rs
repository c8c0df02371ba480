use std::collections::HashMap;

use jiff::Timestamp;
use rusqlite::types::{FromSql, FromSqlError, FromSqlResult, Null, ToSql, ToSqlOutput, ValueRef};

use super::IndexError;
use super::database::Database;
use crate::leak::{Limits, Verdict};
use crate::quantity::Pressure;
use crate::record::{
    CheckRecord, CircuitRecord, LEAVE_IT, Plan, REPLACE, ReadingRecord, Record, RigParts, Unaccounted,
    VerdictCounts,
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
pub(super) fn add(database: &Database, record: &Record, digest: &str) -> Result<(), IndexError> {
    let family = match &record.amends {
        Some(amends) => family_of(database, &amends.earlier.session)?,
        None => record.session.clone(),
    };
    let bench = number_of_bench(database, &bench(record))?;
    let id = add_record(database, record, digest, &family, bench)?;
    let standing = standing(database, &family)?;
    let outdated: Vec<i64> = database.ask(
        "SELECT id FROM record WHERE family IN ($1, $2) AND counts AND session <> $3",
        &[&family, &record.session, &standing],
        |row| row.get(0),
    )?;
    for other in outdated {
        forget_what_it_says(database, other)?;
        database.change("UPDATE record SET counts = FALSE WHERE id = $1", &[&other])?;
    }
    // Those that came before it went by its own name.
    if family != record.session {
        for column in ["family", "follows"] {
            let sql = format!("UPDATE record SET {column} = $1 WHERE {column} = $2");
            database.change(&sql, &[&family, &record.session])?;
        }
    }
    if standing == record.session {
        database.change("UPDATE record SET counts = TRUE WHERE id = $1", &[&id])?;
        add_what_it_says(database, record, id, bench)?;
    }
    Ok(())
}

/// Takes a record out, and with it its family: they are to be read again, since another of them may count now.
pub(super) fn forget(database: &Database, session: &str) -> Result<(), IndexError> {
    let family = family_of(database, session)?;
    let ids: Vec<i64> =
        database.ask("SELECT id FROM record WHERE family = $1", &[&family], |row| row.get(0))?;
    for id in ids {
        forget_what_it_says(database, id)?;
        database.change("DELETE FROM record WHERE id = $1", &[&id])?;
    }
    database.change("UPDATE record SET follows = after WHERE follows = $1", &[&family])
}

/// Returns the family of a session: as far as is known, the first of those that amend one another.
fn family_of(database: &Database, session: &str) -> Result<String, IndexError> {
    let found = database.value("SELECT family FROM record WHERE session = $1", &[&session])?;
    Ok(found.unwrap_or_else(|| session.to_owned()))
}

/// Returns which one of a family counts: what amends the first of them last, and what amends that.
fn standing(database: &Database, family: &str) -> Result<String, IndexError> {
    let sql = "SELECT session FROM record WHERE amends = $1 ORDER BY finished DESC, session DESC LIMIT 1";
    let mut standing = family.to_owned();
    let mut passed = Vec::new();
    while let Some(later) = database.value(sql, &[&standing])?
        && !passed.contains(&later)
    {
        passed.push(std::mem::replace(&mut standing, later));
    }
    Ok(standing)
}

fn number_of_bench(database: &Database, name: &str) -> Result<i64, IndexError> {
    let known = database.value("SELECT id FROM bench WHERE name = $1", &[&name])?;
    let number = match known {
        Some(number) => Some(number),
        None => database.value("INSERT INTO bench (name) VALUES ($1) RETURNING id", &[&name])?,
    };
    Ok(number.unwrap_or_default())
}

fn add_record(
    database: &Database,
    record: &Record,
    digest: &str,
    family: &str,
    bench: i64,
) -> Result<i64, IndexError> {
    let after = after(record);
    let follows = after.map(|after| family_of(database, after)).transpose()?;
    let counts = VerdictCounts::of(asked_for(record));
    let standards = || record.circuits.iter().flat_map(alike).filter_map(standard);
    let technician = record.tested_by().unwrap_or_else(|| "nobody named".to_owned());
    let id = database.value(
        "INSERT INTO record (bench, session, digest, amends, family, counts, after, follows, finished, day, unit, technician,
             rig, confidence, job, held_back_by, n_holds, n_right, n_worn, n_leaks, n_open, n_tight, n_retest, n_unjudged, n_unfitted,
             n_untested, n_left, readings, total, differing)
         VALUES ($1, $2, $3, $4, $5, FALSE, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22, $23,
             $24, $25, $26, $27, $28, $29)
         RETURNING id",
        &[
            &bench,
            &record.session,
            &digest,
            &record.amends.as_ref().map(|amends| &amends.earlier.session),
            &family,
            &after,
            &follows,
            &record.finished.as_second(),
            &day(record),
            &unit(record),
            &technician,
            &rig(record),
            &record.confidence,
            &record.job,
            &held_back_by(record),
            &counts.holds,
            &counts.right,
            &counts.worn,
            &counts.leaks,
            &counts.open,
            &counts.tight,
            &counts.retest,
            &counts.not_judged,
            &counts.not_fitted,
            &counts.not_tested,
            &n_left(record),
            &standards().count(),
            &standards().sum::<f64>(),
            &record.circuits.iter().map(n_differing).sum::<usize>(),
        ],
    )?;
    Ok(id.unwrap_or_default())
}

/// The circuits that a record was to tell of: of an attempt those that are tested in it, as nobody left the others out.
fn asked_for(record: &Record) -> impl Iterator<Item = &CircuitRecord> {
    let is_attempt = record.opening().is_some_and(|opening| opening.exercise.is_some());
    let plan = record.plan.as_ref().filter(|_| is_attempt);
    record.circuits.iter().filter(move |circuit| plan.is_none_or(|plan| plan.includes(&circuit.circuit.name)))
}

/// How many circuits are not as they should be and are left so: nothing else was decided about them.
fn n_left(record: &Record) -> usize {
    let is_left = |circuit: &&CircuitRecord| {
        let mut decisions = record.decisions.iter();
        let decision = decisions.find(|decision| decision.circuit == circuit.circuit.name);
        decision.is_none_or(|decision| decision.decided == LEAVE_IT)
    };
    let amiss = record.circuits.iter().filter(|circuit| circuit.verdict.is_some_and(Verdict::is_amiss));
    amiss.filter(is_left).count()
}

/// The fingerprint of the key that alone tells what an attempt at an exercise comes to.
fn held_back_by(record: &Record) -> Option<String> {
    let handed_out = record.opening()?.exercise.as_deref()?.handed_out.as_ref()?;
    handed_out.is_held_back.then(|| handed_out.by.public_key.fingerprint())
}

/// The session whose circuits a record tests again.
fn after(record: &Record) -> Option<&str> {
    record.plan.as_ref().and_then(|plan| plan.after.as_ref()).map(|after| after.session.as_str())
}

/// The unit that was tested, or the procedure's title.
fn unit(record: &Record) -> &str {
    record.procedure.unit.as_ref().unwrap_or(&record.procedure.title)
}

/// The day on which the bench was read, as `2026-11-27`: an amendment is finished when it was made, so the
/// checks of the rig say it.
fn day(record: &Record) -> String {
    record.day(checks(record).last().map_or(record.finished, |check| check.at))
}

/// The bench; one that was not described is taken for all of equal parts.
fn bench(record: &Record) -> String {
    let named = record.opening().and_then(|opening| opening.bench.as_ref());
    named.map_or_else(|| parts(&record.rig), ToString::to_string)
}

/// The rig: the bench, with another orifice or gauge another rig.
fn rig(record: &Record) -> String {
    let named = record.opening().and_then(|opening| opening.bench.as_ref());
    let parts = parts(&record.rig);
    named.map_or(parts.clone(), |bench| format!("{bench}: {parts}"))
}

fn parts(parts: &RigParts) -> String {
    let orifice = parts.orifice;
    format!("{} {}, gauge {}", orifice.diameter(), orifice_kind(orifice.kind()), parts.dial.grade())
}

/// When a rig was checked, against which of a record's calibrations, and how much deeper in Pa it read.
struct Checked {
    at: Timestamp,
    calibration: usize,
    plugged: f64,
    through: f64,
    drifted: bool,
}

/// The looks at the rig, those that found it drifted among them, in the order of the clock.
fn checks(record: &Record) -> Vec<Checked> {
    let drifts = record.drifts().map(|(look, _)| (look, true));
    let mut looks: Vec<(CheckRecord, bool)> = drifts.collect();
    looks.extend(record.checks.iter().map(|look| (look.clone(), false)));
    looks.sort_by_key(|(look, _)| look.through);
    let found = |(look, drifted): &(CheckRecord, bool)| {
        let calibration = record.calibrations.get(look.calibration.checked_sub(1)?)?;
        let (plugged, _) = record.read_at(look.plugged)?;
        let (through, at) = record.read_at(look.through)?;
        Some(Checked {
            at,
            calibration: look.calibration,
            plugged: plugged.si - calibration.plugged_pa,
            through: through.si - calibration.through_pa,
            drifted: *drifted,
        })
    };
    looks.iter().filter_map(found).collect()
}

/// The readings of a circuit that count and have no limits of their own, which are of another place.
fn alike(circuit: &CircuitRecord) -> impl Iterator<Item = &ReadingRecord> {
    circuit.counting().filter(|reading| !is_apart(circuit, reading))
}

fn is_apart(circuit: &CircuitRecord, reading: &ReadingRecord) -> bool {
    circuit.spot(reading).limits != circuit.circuit.limits
}

/// Returns the standard reading; none where no two takes agree.
fn standard(reading: &ReadingRecord) -> Option<f64> {
    Some(reading.meaning.as_ref()?.standard_reading_pa.value)
}

/// How many readings of a circuit have none, though others of it may.
fn n_differing(circuit: &CircuitRecord) -> usize {
    alike(circuit).filter(|reading| standard(reading).is_none()).count()
}

/// Adds what a record that counts says.
fn add_what_it_says(database: &Database, record: &Record, id: i64, bench: i64) -> Result<(), IndexError> {
    add_circuits(database, record, id, bench)?;
    let (rig, division) = (rig(record), record.rig.dial.smallest_division().si());
    let ahead = record.minutes_ahead();
    let checks: Vec<_> = checks(record).into_iter().map(|check| (check.at.as_second(), check)).collect();
    for (n, (at, Checked { calibration, plugged, through, drifted, .. })) in checks.iter().enumerate() {
        let check: [&dyn ToSql; 11] =
            [&bench, &id, &n, &rig, at, &ahead, plugged, through, calibration, &division, drifted];
        database.add("INSERT INTO rig_check", &[check], "")?;
    }
    let findings = record.findings.iter().filter(|finding| finding.circuit.is_none()).enumerate();
    for (n, finding) in findings {
        database.add("INSERT INTO finding", &[[&bench as &dyn ToSql, &id, &n, &finding.text]], "")?;
    }
    // What is only left as it is neither costs nor saves.
    let is_decided = record.decisions.iter().any(|decision| decision.decided != LEAVE_IT);
    let (account, prices) = (&record.account, &record.account.prices);
    if let (true, Some(total), Some(replacement)) = (is_decided, account.total, prices.replacement) {
        let currency = prices.currency.as_deref().unwrap_or_default();
        let Unaccounted { undecided, untested } = Unaccounted::of(record);
        let outside = undecided + untested;
        let is_replaced = record.decisions.iter().any(|decision| decision.decided == REPLACE);
        let account: [&dyn ToSql; 7] = [&bench, &id, &currency, &total, &replacement, &is_replaced, &outside];
        database.add("INSERT INTO account", &[account], "")?;
    }
    Ok(())
}

/// Adds the circuits and their readings, each in one statement; of two circuits with one name in a record, which no
/// procedure describes, only the first.
fn add_circuits(database: &Database, record: &Record, id: i64, bench: i64) -> Result<(), IndexError> {
    let mut circuits: Vec<&CircuitRecord> = Vec::new();
    for circuit in asked_for(record) {
        if circuits.iter().all(|known| known.circuit.name != circuit.circuit.name) {
            circuits.push(circuit);
        }
    }
    let (unit, finished, again) = (unit(record), record.finished.as_second(), after(record).is_some());
    let limits = circuits.iter().map(|circuit| {
        let limits = circuit.circuit.limits;
        let of = |vacuum: fn(&Limits) -> Pressure| limits.as_ref().map(|limits| vacuum(limits).si());
        (of(Limits::lower), of(Limits::upper), limits.is_some_and(|limits| limits.is_window()))
    });
    let limits: Vec<_> = limits.collect();
    let rows: Vec<[&dyn ToSql; 7]> = (circuits.iter().zip(&limits))
        .map(|(circuit, (lower, upper, is_window))| -> [&dyn ToSql; 7] {
            [&bench, &unit, &circuit.circuit.name, lower, upper, is_window, &finished]
        })
        .collect();
    database.add(
        "INSERT INTO circuit (bench, unit, name, lower_limit, upper_limit, is_window, finished)",
        &rows,
        "ON CONFLICT (unit, name, bench) DO UPDATE
         SET lower_limit = excluded.lower_limit, upper_limit = excluded.upper_limit, is_window = excluded.is_window,
             finished = excluded.finished
         WHERE excluded.finished >= circuit.finished",
    )?;
    let sql = "SELECT name, id FROM circuit WHERE unit = $1 AND bench = $2";
    let numbers: HashMap<String, i64> =
        database.ask(sql, &[&unit, &bench], |row| Ok((row.get(0)?, row.get(1)?)))?.into_iter().collect();
    let wanted = Plan::after_repair(record);
    let mut tests = Vec::new();
    let mut readings = Vec::new();
    for circuit in circuits {
        let name = &circuit.circuit.name;
        let number = numbers.get(name).copied().unwrap_or_default();
        let decision = record.decisions.iter().find(|decision| decision.circuit == *name);
        let decided = decision.map(|decision| &decision.decided);
        let standards = || alike(circuit).filter_map(standard);
        let (n, total) = (standards().count(), standards().sum::<f64>());
        let lowest = standards().reduce(f64::min);
        let differing = n_differing(circuit);
        tests.push((number, circuit.verdict, decided, wanted.includes(name), lowest, n, total, differing));
        for (n, reading) in circuit.counting().enumerate() {
            let apart = is_apart(circuit, reading).then(|| reading.verdict());
            let spread = reading.meaning.as_ref().map(|meaning| meaning.budget.spread());
            let (normal, rectangle) =
                (spread.map(|spread| spread.normal), spread.map(|spread| spread.rectangle));
            readings.push((number, n, circuit.verdict, standard(reading), normal, rectangle, apart));
        }
    }
    let rows = tests.iter().map(
        |(number, verdict, decided, is_wanted, lowest, n, total, differing)| -> [&dyn ToSql; 11] {
            [&bench, &id, number, &again, verdict, decided, is_wanted, lowest, n, total, differing]
        },
    );
    database.add("INSERT INTO test", &rows.collect::<Vec<_>>(), "")?;
    let rows =
        readings.iter().map(|(number, n, verdict, standard, normal, rectangle, apart)| -> [&dyn ToSql; 10] {
            [&bench, number, &id, n, &again, verdict, standard, normal, rectangle, apart]
        });
    database.add("INSERT INTO reading", &rows.collect::<Vec<_>>(), "")
}

fn forget_what_it_says(database: &Database, id: i64) -> Result<(), IndexError> {
    for forget in [
        "DELETE FROM reading WHERE record = $1 AND circuit IN (SELECT circuit FROM test WHERE record = $1)",
        "DELETE FROM test WHERE record = $1",
        "DELETE FROM rig_check WHERE record = $1",
        "DELETE FROM account WHERE record = $1",
        "DELETE FROM finding WHERE record = $1",
    ] {
        database.change(forget, &[&id])?;
    }
    Ok(())
}
