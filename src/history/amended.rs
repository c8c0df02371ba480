//! Which records count, where some amend others.

use rusqlite::{Connection, OptionalExtension};

/// Returns whether a record counts: nobody amends it, nor amends later what it amends.
pub(super) fn shall_count(connection: &Connection, id: i64) -> rusqlite::Result<bool> {
    connection
        .prepare_cached(
            "SELECT NOT EXISTS (SELECT 1 FROM record other WHERE other.amends = record.name)
             AND NOT EXISTS (SELECT 1 FROM record other WHERE other.amends = record.amends
                             AND (other.finished, other.name) > (record.finished, record.name))
             FROM record WHERE id = ?1",
        )?
        .query_row([id], |row| row.get(0))
}

/// Notes whether a record counts; returns whether that is new.
pub(super) fn set_counts(connection: &Connection, id: i64, counts: bool) -> rusqlite::Result<bool> {
    let n = connection
        .prepare_cached("UPDATE record SET counts = ?2 WHERE id = ?1 AND counts <> ?2")?
        .execute(rusqlite::params![id, counts])?;
    Ok(n > 0)
}

/// Returns the record of this name and those that amend it, but for one.
pub(super) fn beside(connection: &Connection, amended: &str, but: i64) -> rusqlite::Result<Vec<i64>> {
    connection
        .prepare_cached("SELECT id FROM record WHERE (name = ?1 OR amends = ?1) AND id <> ?2")?
        .query_map(rusqlite::params![amended, but], |row| row.get(0))?
        .collect()
}

/// Returns the record that counts for the one of this name: itself, or what amends it last.
pub(super) fn last(connection: &Connection, name: &str) -> rusqlite::Result<Option<i64>> {
    connection
        .prepare_cached(
            "WITH RECURSIVE later(name) AS (
                 SELECT ?1 UNION SELECT record.name FROM record JOIN later ON record.amends = later.name)
             SELECT id FROM record JOIN later USING (name) WHERE counts",
        )?
        .query_row([name], |row| row.get(0))
        .optional()
}
