use std::collections::HashSet;
use std::fmt;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use rusqlite::{Connection, ErrorCode, OptionalExtension, Transaction, TransactionBehavior};

use super::gathered::{Gathered, gather};
use super::schema::{EMPTIED, TABLES, VERSION};
use super::writing::Writer;
use crate::record::{Shop, across};

/// How many records are read before they are written.
const BATCH: usize = 512;

/// How long another program may hold the index before this one gives up.
const PATIENCE: Duration = Duration::from_secs(30);

/// Within this, a folder's time may stay the same though a file was added.
const GRAIN: Duration = Duration::from_secs(2);

/// An index of a shop's records. It may be opened by several programs at once.
pub struct Index {
    pub(super) connection: Connection,
    folder: PathBuf,
}

/// What an update has done.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Update {
    /// Records that were added.
    pub added: usize,
    /// Records that are gone.
    pub removed: usize,
    /// Files that are no records.
    pub skipped: usize,
    /// Whether it was broken off; what is in the index stands, and the next update goes on.
    pub is_partial: bool,
}

/// Why the index cannot be used.
#[derive(Debug)]
pub enum IndexError {
    /// The database refuses.
    Database(rusqlite::Error),
    /// The shop's folder refuses.
    Io(PathBuf, io::Error),
}

impl fmt::Display for IndexError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            IndexError::Database(error) => {
                write!(f, "the index of the records can't be used ({error}); history rebuild makes it anew")
            }
            IndexError::Io(path, error) => write!(f, "{}: {error}", path.display()),
        }
    }
}

impl From<rusqlite::Error> for IndexError {
    fn from(error: rusqlite::Error) -> IndexError {
        IndexError::Database(error)
    }
}

impl Index {
    /// Opens a shop's index, or begins one. An index that is damaged or of another version is begun anew.
    ///
    /// # Errors
    /// Where the folder or the database refuses.
    pub fn open(shop: &Shop) -> Result<Index, IndexError> {
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
    ///
    /// # Errors
    /// Where the folder or the database refuses.
    pub fn rebuild(
        &mut self,
        is_interrupted: &(dyn Fn() -> bool + Sync),
        step: &(dyn Fn(usize) + Sync),
    ) -> Result<Update, IndexError> {
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        empty(&transaction)?;
        transaction.commit()?;
        self.update(is_interrupted, step)
    }

    /// Brings the index up to the records that are there: reads new ones, forgets those that are gone.
    ///
    /// A record is never changed in its place, so one that is in the index is not read again. `step` is told how many
    /// files are to be read, once for each that was.
    ///
    /// # Errors
    /// Where the folder or the database refuses; what was added until then stands.
    pub fn update(
        &mut self,
        is_interrupted: &(dyn Fn() -> bool + Sync),
        step: &(dyn Fn(usize) + Sync),
    ) -> Result<Update, IndexError> {
        let stamp = self.stamp()?;
        if stamp.is_some() && stamp == self.last_stamp()? {
            return Ok(Update::default());
        }
        let names = self.names()?;
        let known = self.known()?;
        let mut update = Update::default();
        let gone: Vec<_> = known.iter().filter(|name| !names.contains(*name)).cloned().collect();
        let new: Vec<_> = {
            let mut new: Vec<_> = names.into_iter().filter(|name| !known.contains(name)).collect();
            new.sort_unstable();
            new
        };
        self.connection.execute("DELETE FROM skipped", [])?;
        for batch in gone.chunks(BATCH) {
            self.write(&[], batch, &mut update)?;
        }
        for batch in new.chunks(BATCH) {
            if is_interrupted() {
                update.is_partial = true;
                return Ok(update);
            }
            let read = across(batch, |name| {
                let gathered = gather(&self.folder.join(format!("{name}.json")));
                step(new.len());
                (name.clone(), gathered)
            });
            self.write(&read, &[], &mut update)?;
        }
        self.set_stamp(stamp)?;
        Ok(update)
    }

    /// Adds records that were gathered elsewhere, all or none of them; what is in the index already stays.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn add(&mut self, records: Vec<Gathered>) -> Result<Update, IndexError> {
        let new: Vec<_> = records.into_iter().map(|record| (record.session.clone(), Ok(record))).collect();
        let mut update = Update::default();
        self.write(&new, &[], &mut update)?;
        Ok(update)
    }

    /// Writes a batch, whole or not at all.
    fn write(
        &mut self,
        new: &[(String, Result<Gathered, String>)],
        gone: &[String],
        update: &mut Update,
    ) -> Result<(), IndexError> {
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        // Another program may have rebuilt the index meanwhile, so no word is remembered from batch to batch.
        let mut writer = Writer::default();
        for name in gone {
            writer.remove(&transaction, name)?;
            update.removed += 1;
        }
        for (name, read) in new {
            let is_known: bool = transaction
                .prepare_cached("SELECT EXISTS (SELECT 1 FROM record WHERE name = ?1)")?
                .query_row([name], |row| row.get(0))?;
            let read = match read {
                Ok(record) if record.session != *name => {
                    Err(format!("the session in it is {}", record.session))
                }
                Ok(record) => Ok(record),
                Err(why) => Err(why.clone()),
            };
            match read {
                Ok(_) if is_known => {}
                Ok(record) => {
                    writer.add(&transaction, record)?;
                    update.added += 1;
                }
                Err(why) => {
                    transaction
                        .prepare_cached("INSERT OR REPLACE INTO skipped VALUES (?1, ?2)")?
                        .execute([name, &why])?;
                    update.skipped += 1;
                }
            }
        }
        writer.flush(&transaction)?;
        transaction.commit()?;
        Ok(())
    }

    /// Returns how many records are in the index, those that were amended included.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn n_records(&self) -> Result<usize, IndexError> {
        Ok(self.connection.query_row("SELECT COUNT(*) FROM record", [], |row| row.get(0))?)
    }

    /// Returns the files among the records that are none, with what is wrong.
    ///
    /// # Errors
    /// Where the database refuses.
    pub fn skipped(&self) -> Result<Vec<(String, String)>, IndexError> {
        let mut query = self.connection.prepare_cached("SELECT name, why FROM skipped ORDER BY name")?;
        let rows = query.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// The time of the folder of records, once it is too old for a file to have been added since within it.
    fn stamp(&self) -> Result<Option<i64>, IndexError> {
        let failed = |error| IndexError::Io(self.folder.clone(), error);
        let changed = fs::metadata(&self.folder).and_then(|folder| folder.modified()).map_err(failed)?;
        let is_settled = SystemTime::now().duration_since(changed).is_ok_and(|age| age > GRAIN);
        let since = changed.duration_since(UNIX_EPOCH).ok().filter(|_| is_settled);
        Ok(since.and_then(|since| i64::try_from(since.as_nanos()).ok()))
    }

    fn last_stamp(&self) -> Result<Option<i64>, IndexError> {
        let mut query = self.connection.prepare_cached("SELECT value FROM state WHERE key = 'stamp'")?;
        Ok(query.query_row([], |row| row.get(0)).optional()?)
    }

    fn set_stamp(&self, stamp: Option<i64>) -> Result<(), IndexError> {
        match stamp {
            Some(stamp) => self
                .connection
                .prepare_cached("INSERT OR REPLACE INTO state VALUES ('stamp', ?1)")?
                .execute([stamp])?,
            None => self.connection.prepare_cached("DELETE FROM state WHERE key = 'stamp'")?.execute([])?,
        };
        Ok(())
    }

    fn names(&self) -> Result<HashSet<String>, IndexError> {
        let failed = |error| IndexError::Io(self.folder.clone(), error);
        let mut names = HashSet::new();
        for entry in fs::read_dir(&self.folder).map_err(failed)? {
            let name = entry.map_err(failed)?.file_name();
            let name = name.to_str().and_then(|name| name.strip_suffix(".json"));
            names.extend(name.filter(|name| !name.starts_with('.')).map(str::to_owned));
        }
        Ok(names)
    }

    fn known(&self) -> Result<HashSet<String>, IndexError> {
        let mut query = self.connection.prepare_cached("SELECT name FROM record")?;
        let names = query.query_map([], |row| row.get(0))?;
        Ok(names.collect::<Result<_, _>>()?)
    }
}

fn path(shop: &Shop) -> PathBuf {
    shop.root().join("history.sqlite")
}

fn connect(path: &Path) -> rusqlite::Result<Connection> {
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
        let tables: Vec<String> = transaction
            .prepare("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")?
            .query_map([], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        for table in tables {
            transaction.execute_batch(&format!("DROP TABLE \"{}\"", table.replace('"', "\"\"")))?;
        }
        transaction.execute_batch(TABLES)?;
        transaction.pragma_update(None, "user_version", VERSION)?;
    }
    transaction.commit()?;
    Ok(connection)
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

fn empty(transaction: &Transaction<'_>) -> rusqlite::Result<()> {
    for table in EMPTIED {
        transaction.execute_batch(&format!("DELETE FROM {table}"))?;
    }
    transaction.execute_batch("DELETE FROM state")
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
                return Err(IndexError::Io(name.into(), error));
            }
            _ => {}
        }
    }
    Ok(())
}
