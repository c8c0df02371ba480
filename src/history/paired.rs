//! Circuits before and after what was decided about them.

use rusqlite::{Transaction, params};

use super::amended;

/// Pairs a record's circuits with those of the record that it follows, and with those of the records that follow it,
/// among records that count. Where one was amended since, what amends it stands for it.
pub(super) fn pair(transaction: &Transaction<'_>, id: i64) -> rusqlite::Result<()> {
    let (counts, after): (bool, Option<String>) = transaction
        .prepare_cached("SELECT counts, after FROM record WHERE id = ?1")?
        .query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))?;
    if !counts {
        return Ok(());
    }
    if let Some(after) = after
        && let Some(earlier) = amended::last(transaction, &after)?
    {
        stand_together(transaction, earlier, id)?;
    }
    // Those that follow it may name what it amends instead.
    let following: Vec<i64> = transaction
        .prepare_cached(
            "WITH RECURSIVE meant(name) AS (
                 SELECT name FROM record WHERE id = ?1
                 UNION SELECT record.amends FROM record JOIN meant ON record.name = meant.name
                 WHERE record.amends IS NOT NULL)
             SELECT id FROM record JOIN meant ON record.after = meant.name WHERE counts",
        )?
        .query_map([id], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    for later in following {
        stand_together(transaction, id, later)?;
    }
    Ok(())
}

/// Pairs a record again, where what lies between it and others has changed.
pub(super) fn pair_anew(transaction: &Transaction<'_>, id: i64) -> rusqlite::Result<()> {
    part(transaction, id)?;
    pair(transaction, id)
}

/// Takes a record's pairs apart.
pub(super) fn part(transaction: &Transaction<'_>, id: i64) -> rusqlite::Result<()> {
    transaction
        .prepare_cached("DELETE FROM repair WHERE before = ?1 OR after = ?1")?
        .execute([id])
        .map(|_| ())
}

fn stand_together(transaction: &Transaction<'_>, earlier: i64, later: i64) -> rusqlite::Result<()> {
    transaction
        .prepare_cached(
            "INSERT OR IGNORE INTO repair
             SELECT later.unit, then_.circuit, then_.decided, ?2, ?1, then_.verdict, now_.verdict,
                    then_.standard, now_.standard
             FROM record later
             JOIN circuit now_ ON now_.record = later.id AND now_.verdict < 4
             JOIN circuit then_ ON then_.record = ?1 AND then_.circuit = now_.circuit
             WHERE later.id = ?2 AND then_.decided IS NOT NULL",
        )?
        .execute(params![earlier, later])
        .map(|_| ())
}
