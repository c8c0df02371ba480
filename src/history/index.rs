use std::collections::HashSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use rusqlite::types::ToSql;
use rusqlite::{Connection, ErrorCode, Row, Transaction, TransactionBehavior};
use serde::Deserialize;

use super::writing;
use crate::disk::{self, LARGEST_DOCUMENT, append_to};
use crate::record::{FORMAT, Mode, Record, Shop, across};

/// The tables; an index whose version is another one is thrown away and made anew.
const TABLES: &str = include_str!("sql/tables.sql");
const VERSION: i64 = 9;

/// How many records are read before they are written.
const BATCH: usize = 512;

/// How long another program may hold the index before this one gives up.
const PATIENCE: Duration = Duration::from_secs(30);

/// Within this, a folder's time may stay the same though a file was added.
const GRAIN: Duration = Duration::from_secs(2);

/// An index of a shop's records. It may be opened by several programs at once.
pub(crate) struct Index {
    connection: Connection,
    folder: PathBuf,
}

/// What an update has done.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Update {
    /// Records that were added.
    pub added: usize,
    /// Whether it was broken off; what is in the index stands, and the next update goes on.
    pub is_partial: bool,
}

/// Why the index cannot be used.
#[derive(Debug, thiserror::Error)]
pub(crate) enum IndexError {
    #[error("the index of the records can't be used ({0}); history rebuild makes it anew")]
    Database(#[from] rusqlite::Error),
    #[error("{}: {}", .0.display(), .1)]
    Folder(PathBuf, io::Error),
}

impl Index {
    /// Opens a shop's index, or begins one. An index that is damaged or of another version is begun anew.
    pub(crate) fn open(shop: &Shop) -> Result<Index, IndexError> {
        let path = path(shop);
        match connect(&path) {
            Ok(connection) => Ok(Index { connection, folder: shop.records() }),
            Err(error) if is_damaged(&error) => {
                discard(&path)?;
                Ok(Index { connection: connect(&path)?, folder: shop.records() })
            }
            Err(error) => Err(error.into()),
        }
    }

    /// Reads every record again.
    pub(crate) fn rebuild(
        &mut self,
        is_interrupted: &(dyn Fn() -> bool + Sync),
        step: &(dyn Fn(usize) + Sync),
    ) -> Result<Update, IndexError> {
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        make_tables(&transaction)?;
        transaction.commit()?;
        self.update(is_interrupted, step)
    }

    /// Brings the index up to the records that are there: reads new ones, forgets those that are gone.
    ///
    /// A record is never changed in its place, so one that is in the index is not read again. `step` is told how many
    /// files are to be read, once for each that was.
    pub(crate) fn update(
        &mut self,
        is_interrupted: &(dyn Fn() -> bool + Sync),
        step: &(dyn Fn(usize) + Sync),
    ) -> Result<Update, IndexError> {
        let stamp = self.stamp()?;
        if stamp.is_some() && stamp == self.last_stamp()? {
            return Ok(Update::default());
        }
        let names = self.names()?;
        self.forget_all_but(&names)?;
        let known = known(&self.connection)?;
        let mut new: Vec<_> = names.difference(&known).collect();
        new.sort_unstable();
        let mut update = Update::default();
        for batch in new.chunks(BATCH) {
            if is_interrupted() {
                update.is_partial = true;
                return Ok(update);
            }
            let read = across(
                batch,
                || (),
                |(), name| {
                    let record = wanted(&self.folder.join(format!("{name}.json")));
                    step(new.len());
                    ((*name).clone(), record)
                },
            );
            update.added += self.take_up(&read)?;
        }
        self.set_stamp(stamp)?;
        Ok(update)
    }

    /// Forgets which files were left out, and the records that are no longer there.
    fn forget_all_but(&mut self, names: &HashSet<String>) -> Result<(), IndexError> {
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        transaction.execute("DELETE FROM skipped", [])?;
        for gone in known(&transaction)?.difference(names) {
            writing::forget(&transaction, gone)?;
        }
        transaction.commit()?;
        Ok(())
    }

    /// Takes up what was read of files, all of it or nothing, and returns how many records were new.
    pub(crate) fn take_up(&mut self, read: &[(String, Result<Record, String>)]) -> Result<usize, IndexError> {
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let mut n_added = 0;
        for (name, read) in read {
            let why = match read {
                Ok(record) if record.session != *name => {
                    format!("the session in it is {}", record.session)
                }
                Ok(record) => {
                    // Another program may have taken it up meanwhile.
                    let mut query = transaction.prepare_cached("SELECT 1 FROM record WHERE session = $1")?;
                    if !query.exists([name])? {
                        writing::add(&transaction, record)?;
                        n_added += 1;
                    }
                    continue;
                }
                Err(why) => why.clone(),
            };
            transaction
                .prepare_cached(
                    "INSERT INTO skipped VALUES ($1, $2) ON CONFLICT (name) DO UPDATE SET why = $2",
                )?
                .execute([name, &why])?;
        }
        transaction.commit()?;
        Ok(n_added)
    }

    /// Asks a question in SQL, whose parameters are called `$1`, `$2` and so on, and reads each row of the answer.
    pub(super) fn ask<T>(
        &self,
        sql: &str,
        parameters: &[&dyn ToSql],
        read: impl FnMut(&Row<'_>) -> rusqlite::Result<T>,
    ) -> Result<Vec<T>, IndexError> {
        let mut query = self.connection.prepare_cached(sql)?;
        // SQLite counts them in the order in which they first stand in the text.
        let names: Vec<String> = (1..=parameters.len()).map(|n| format!("${n}")).collect();
        let named: Vec<_> = names.iter().map(String::as_str).zip(parameters.iter().copied()).collect();
        let rows = query.query_map(named.as_slice(), read)?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// The time of the folder of records, once it is too old for a file to have been added since within it.
    fn stamp(&self) -> Result<Option<i64>, IndexError> {
        let failed = |error| IndexError::Folder(self.folder.clone(), error);
        let changed = fs::metadata(&self.folder).and_then(|folder| folder.modified()).map_err(failed)?;
        let is_settled = SystemTime::now().duration_since(changed).is_ok_and(|age| age > GRAIN);
        let since = changed.duration_since(UNIX_EPOCH).ok().filter(|_| is_settled);
        Ok(since.and_then(|since| i64::try_from(since.as_nanos()).ok()))
    }

    fn last_stamp(&self) -> Result<Option<i64>, IndexError> {
        Ok(self.ask("SELECT value FROM state WHERE name = 'stamp'", &[], |row| row.get(0))?.pop())
    }

    fn set_stamp(&self, stamp: Option<i64>) -> Result<(), IndexError> {
        self.connection.execute("DELETE FROM state", [])?;
        if let Some(stamp) = stamp {
            self.connection.execute("INSERT INTO state VALUES ('stamp', $1)", [stamp])?;
        }
        Ok(())
    }

    fn names(&self) -> Result<HashSet<String>, IndexError> {
        let failed = |error| IndexError::Folder(self.folder.clone(), error);
        let mut names = HashSet::new();
        for entry in fs::read_dir(&self.folder).map_err(failed)? {
            let name = entry.map_err(failed)?.file_name();
            let name = name.to_str().and_then(|name| name.strip_suffix(".json"));
            names.extend(name.filter(|name| !name.starts_with('.')).map(str::to_owned));
        }
        Ok(names)
    }
}

/// Reads a record that the history wants, or says why it does not want what is in a file.
///
/// A record that was changed since it was stored says nothing any more.
fn wanted(path: &Path) -> Result<Record, String> {
    /// What tells whether the rest can be read and is wanted.
    #[derive(Deserialize)]
    struct Head {
        format: String,
        mode: Mode,
    }
    let bytes = disk::read(path, LARGEST_DOCUMENT).map_err(|error| error.to_string())?;
    let head: Head = serde_json::from_slice(&bytes).map_err(|error| error.to_string())?;
    if head.format != FORMAT {
        return Err(format!("its format is {}", head.format));
    }
    if head.mode != Mode::Bench {
        return Err("a rehearsal is no history".to_owned());
    }
    let record: Record = serde_json::from_slice(&bytes).map_err(|error| error.to_string())?;
    if !record.is_as_stored() {
        return Err("it is not as it was stored; records audit says what was changed".to_owned());
    }
    Ok(record)
}

fn known(connection: &Connection) -> rusqlite::Result<HashSet<String>> {
    connection.prepare_cached("SELECT session FROM record")?.query_map([], |row| row.get(0))?.collect()
}

fn path(shop: &Shop) -> PathBuf {
    shop.root().join("history.sqlite")
}

fn connect(path: &Path) -> rusqlite::Result<Connection> {
    // The database makes its file for its owner to write, others to read; this one is the shop's, as any file of it.
    let _ = append_to(path);
    let mut connection = Connection::open(path)?;
    connection.busy_timeout(PATIENCE)?;
    connection.set_prepared_statement_cache_capacity(64);
    // Readers go on while somebody writes; after a power cut the index may lack the last batch, never be half written.
    patiently(|| connection.pragma_update(None, "journal_mode", "wal"))?;
    connection.pragma_update(None, "synchronous", "normal")?;
    connection.pragma_update(None, "cache_size", -65_536)?;
    connection.pragma_update(None, "mmap_size", 1_i64 << 30)?;
    let version =
        |connection: &Connection| connection.query_row("PRAGMA user_version", [], |row| row.get::<_, i64>(0));
    if version(&connection)? == VERSION {
        return Ok(connection);
    }
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    // Another program may have made the tables meanwhile.
    if version(&transaction)? != VERSION {
        make_tables(&transaction)?;
    }
    transaction.commit()?;
    Ok(connection)
}

/// Throws everything away and begins with empty tables.
fn make_tables(transaction: &Transaction<'_>) -> rusqlite::Result<()> {
    let tables: Vec<String> = transaction
        .prepare("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")?
        .query_map([], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    for table in tables {
        transaction.execute_batch(&format!("DROP TABLE \"{}\"", table.replace('"', "\"\"")))?;
    }
    transaction.execute_batch(TABLES)?;
    transaction.pragma_update(None, "user_version", VERSION)
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

fn is_damaged(error: &rusqlite::Error) -> bool {
    matches!(error.sqlite_error_code(), Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase))
}

fn discard(path: &Path) -> Result<(), IndexError> {
    for suffix in ["", "-wal", "-shm"] {
        let mut name = path.as_os_str().to_owned();
        name.push(suffix);
        match fs::remove_file(&name) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => {
                return Err(IndexError::Folder(name.into(), error));
            }
            _ => {}
        }
    }
    Ok(())
}
