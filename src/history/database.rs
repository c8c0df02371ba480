use std::cell::RefCell;
use std::time::{Duration, Instant};

use rusqlite::types::{FromSql, ToSql};
use rusqlite::{Connection, ErrorCode};

use super::IndexError;
use super::server::{Server, ServerCell, ServerError};

/// How long another program may hold the index before this one gives up.
const PATIENCE: Duration = Duration::from_secs(30);

/// The database that an index lies in: a file of the shop, or a server that benches share.
///
/// Both are asked in the same texts; how they are handed parameters and rows, and how work begins that is done whole or
/// not at all, differs here and nowhere else.
pub(super) enum Database {
    File(Connection),
    Server(Box<RefCell<Server>>),
}

/// A row of an answer.
pub(super) enum Row<'a> {
    File(&'a rusqlite::Row<'a>),
    Server(&'a postgres::Row),
}

impl Row<'_> {
    /// Returns what stands in a column, counted from 0.
    pub(super) fn get<T: FromSql>(&self, column: usize) -> Result<T, IndexError> {
        match self {
            Row::File(row) => Ok(row.get(column)?),
            Row::Server(row) => {
                let cell: ServerCell<'_> = row.try_get(column).map_err(ServerError::from)?;
                T::column_result(cell.0).map_err(|error| rusqlite::Error::from(error).into())
            }
        }
    }
}

impl Database {
    /// Opens a file, or begins one.
    pub(super) fn file(path: &std::path::Path) -> rusqlite::Result<Database> {
        let connection = Connection::open(path)?;
        connection.busy_timeout(PATIENCE)?;
        connection.set_prepared_statement_cache_capacity(64);
        // Readers go on while somebody writes; after a power cut the index may lack the last batch,
        // never be half written.
        patiently(|| connection.pragma_update(None, "journal_mode", "wal"))?;
        connection.pragma_update(None, "synchronous", "normal")?;
        connection.pragma_update(None, "cache_size", -65_536)?;
        connection.pragma_update(None, "mmap_size", 1_i64 << 30)?;
        Ok(Database::File(connection))
    }

    /// Asks a question in SQL, whose parameters are called `$1`, `$2` and so on, and reads each row of the answer.
    pub(super) fn ask<T>(
        &self,
        sql: &str,
        parameters: &[&dyn ToSql],
        mut read: impl FnMut(&Row<'_>) -> Result<T, IndexError>,
    ) -> Result<Vec<T>, IndexError> {
        match self {
            Database::File(connection) => {
                let mut query = connection.prepare_cached(&for_file(sql))?;
                bind(&mut query, parameters)?;
                let mut rows = query.raw_query();
                let mut answer = Vec::new();
                while let Some(row) = rows.next()? {
                    answer.push(read(&Row::File(row))?);
                }
                Ok(answer)
            }
            Database::Server(server) => {
                let rows = server.borrow_mut().ask(sql, parameters)?;
                rows.iter().map(|row| read(&Row::Server(row))).collect()
            }
        }
    }

    /// Asks for one value; none where no row answers.
    pub(super) fn value<T: FromSql>(
        &self,
        sql: &str,
        parameters: &[&dyn ToSql],
    ) -> Result<Option<T>, IndexError> {
        Ok(self.ask(sql, parameters, |row| row.get(0))?.into_iter().next())
    }

    /// Changes what the database holds.
    pub(super) fn change(&self, sql: &str, parameters: &[&dyn ToSql]) -> Result<(), IndexError> {
        match self {
            Database::File(connection) => {
                let mut query = connection.prepare_cached(sql)?;
                bind(&mut query, parameters)?;
                query.raw_execute()?;
                Ok(())
            }
            Database::Server(server) => server.borrow_mut().ask(sql, parameters).map(drop),
        }
    }

    /// Adds rows by one statement, which begins as `INSERT INTO reading` and may end in another clause.
    pub(super) fn add<const N: usize>(
        &self,
        into: &str,
        rows: &[[&dyn ToSql; N]],
        clause: &str,
    ) -> Result<(), IndexError> {
        // A statement of SQLite has no more parameters than 32,766, one of PostgreSQL no more than 65,535.
        for rows in rows.chunks(32_766 / N) {
            let places = |row: usize| {
                let places: Vec<String> = (1..=N).map(|column| format!("${}", row * N + column)).collect();
                format!("({})", places.join(", "))
            };
            let places: Vec<String> = (0..rows.len()).map(places).collect();
            self.change(&format!("{into} VALUES {} {clause}", places.join(", ")), rows.as_flattened())?;
        }
        Ok(())
    }

    /// Does some work whole or not at all, while no other program changes the index.
    pub(super) fn together<T>(&self, work: impl FnOnce() -> Result<T, IndexError>) -> Result<T, IndexError> {
        self.say(match self {
            Database::File(_) => "BEGIN IMMEDIATE",
            Database::Server(_) => "BEGIN; LOCK TABLE state IN EXCLUSIVE MODE",
        })?;
        let done = work();
        // What made the work fail is told, not what came of it.
        let ended = self.say(if done.is_ok() { "COMMIT" } else { "ROLLBACK" });
        done.and_then(|done| ended.map(|()| done))
    }

    /// Says several statements that have no parameters.
    pub(super) fn say(&self, sql: &str) -> Result<(), IndexError> {
        match self {
            Database::File(connection) => Ok(connection.execute_batch(sql)?),
            Database::Server(server) => Ok(server.borrow_mut().say(sql)?),
        }
    }
}

/// Lets SQLite take a question's tables apart where a server is to make them whole first: it has no other way to join
/// but one row after the other, for which the indexes serve best.
fn for_file(sql: &str) -> String {
    sql.replace(" AS MATERIALIZED ", " AS NOT MATERIALIZED ")
}

/// SQLite counts parameters in the order in which they first stand in the text.
fn bind(query: &mut rusqlite::Statement<'_>, parameters: &[&dyn ToSql]) -> rusqlite::Result<()> {
    for (n, parameter) in parameters.iter().enumerate() {
        if let Some(place) = query.parameter_index(&format!("${}", n + 1))? {
            query.raw_bind_parameter(place, parameter)?;
        }
    }
    Ok(())
}

/// Tries again while another program has the file: SQLite does not wait by itself before it changes the journal's mode.
fn patiently(mut attempt: impl FnMut() -> rusqlite::Result<()>) -> rusqlite::Result<()> {
    let begun = Instant::now();
    loop {
        match attempt() {
            Err(error) if is_busy(&error) && begun.elapsed() < PATIENCE => {
                std::thread::sleep(Duration::from_millis(10));
            }
            done => return done,
        }
    }
}

fn is_busy(error: &rusqlite::Error) -> bool {
    matches!(error.sqlite_error_code(), Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked))
}
