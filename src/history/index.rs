use std::cell::RefCell;
use std::collections::HashSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use rusqlite::ErrorCode;
use rusqlite::types::ToSql;
use serde::Deserialize;

use super::Asked;
use super::database::{Database, Row};
use super::server::{Address, Server, ServerError, names, prepare};
use super::writing;
use crate::disk::{self, LARGEST_DOCUMENT, append_to};
use crate::record::{FORMAT, Mode, Record, Shop, across};

/// The tables; an index whose version is another one is thrown away and made anew.
const TABLES: &str = include_str!("sql/tables.sql");
const VERSION: i64 = 17;

/// How many records are read before they are written.
const BATCH: usize = 512;

/// Within this, a folder's time may stay the same though a file was added.
const GRAIN: Duration = Duration::from_secs(2);

/// An index of records of one mode. It may be opened by several programs at once.
pub(crate) struct Index {
    database: Database,
    mode: Mode,
    source: RecordsPlace,
    asked: Asked,
}

/// Where the records are that an index is of.
enum RecordsPlace {
    /// In a shop's folder.
    Folder(PathBuf),
    /// On the server, as benches have sent them.
    Sent {
        /// Whether this login administers the server: nobody else takes up into its tables what arrived.
        may_take_up: bool,
    },
}

/// What an update has done.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Update {
    /// Records that were added.
    pub added: usize,
    /// Whether it was broken off; what is in the index stands, and the next update goes on.
    pub is_partial: bool,
    /// Records that wait on a server until who administers it takes them up.
    pub n_waiting: usize,
}

/// Why the index cannot be used.
#[derive(Debug, thiserror::Error)]
pub(crate) enum IndexError {
    #[error("the index of the records can't be used ({0}); history rebuild makes it anew")]
    Database(#[from] rusqlite::Error),
    #[error(transparent)]
    Server(#[from] ServerError),
    #[error("{}: {}", .0.display(), .1)]
    Folder(PathBuf, io::Error),
}

impl Index {
    /// Opens the index of a shop's records of a mode, or begins one. An index that is damaged or of another
    /// version is begun anew.
    pub(crate) fn open(shop: &Shop, mode: Mode) -> Result<Index, IndexError> {
        let shop = shop.of_mode(mode).map_err(|error| IndexError::Folder(shop.root().to_owned(), error))?;
        let path = path(&shop);
        let database = match connect(&path) {
            Err(IndexError::Database(error)) if is_damaged(&error) => {
                discard(&path)?;
                connect(&path)?
            }
            done => done?,
        };
        let source = RecordsPlace::Folder(shop.records());
        Ok(Index { database, mode, source, asked: Asked::default() })
    }

    /// Opens the index of the records of a mode that were sent to a server.
    pub(crate) fn on_server(address: &Address, mode: Mode) -> Result<Index, ServerError> {
        let mut server = Server::connect(address, mode)?;
        if !server.may_ask()? {
            return Err(ServerError::MayNotAsk(address.login().to_owned()));
        }
        match server.version()? {
            Some(VERSION) => {
                let source = RecordsPlace::Sent { may_take_up: server.may_take_up()? };
                let database = Database::Server(Box::new(RefCell::new(server)));
                Ok(Index { database, mode, source, asked: Asked::default() })
            }
            Some(_) => Err(ServerError::OtherVersion),
            None => Err(ServerError::NotPrepared),
        }
    }

    /// Prepares a server for records and their index, or brings it up to this program; returns how
    /// many steps that took.
    pub(crate) fn prepare_server(address: &Address) -> Result<usize, ServerError> {
        prepare(address, TABLES, VERSION)
    }

    /// Reads every record again.
    pub(crate) fn rebuild(
        &mut self,
        is_interrupted: &(dyn Fn() -> bool + Sync),
        step: &(dyn Fn(usize) + Sync),
    ) -> Result<Update, IndexError> {
        self.database.together(|| match self.source {
            RecordsPlace::Folder(_) => make_tables(&self.database),
            RecordsPlace::Sent { .. } => {
                let tables: Vec<&str> = names(TABLES).filter(|table| *table != "state").collect();
                self.database.say(&format!("TRUNCATE {}", tables.join(", ")))?;
                let sql =
                    "INSERT INTO pending SELECT number FROM document WHERE mode = $1 ON CONFLICT DO NOTHING";
                self.database.change(sql, &[&self.mode.word()])
            }
        })?;
        self.update(is_interrupted, step)
    }

    /// Brings the index up to the records that are there: reads new ones, forgets those that are gone.
    ///
    /// A record is never changed in its place, so one that is in the index is not read again. `step` is told how many
    /// records are to be read, once for each that was.
    pub(crate) fn update(
        &mut self,
        is_interrupted: &(dyn Fn() -> bool + Sync),
        step: &(dyn Fn(usize) + Sync),
    ) -> Result<Update, IndexError> {
        match self.source {
            RecordsPlace::Folder(ref folder) => self.update_from(&folder.clone(), is_interrupted, step),
            RecordsPlace::Sent { may_take_up: true } => self.update_from_sent(is_interrupted, step),
            RecordsPlace::Sent { may_take_up: false } => {
                Ok(Update { n_waiting: self.n_pending()?, ..Update::default() })
            }
        }
    }

    fn update_from(
        &mut self,
        folder: &Path,
        is_interrupted: &(dyn Fn() -> bool + Sync),
        step: &(dyn Fn(usize) + Sync),
    ) -> Result<Update, IndexError> {
        let stamp = stamp(folder)?;
        if stamp.is_some() && stamp == self.last_stamp()? {
            return Ok(Update::default());
        }
        let names = names_in(folder)?;
        self.forget_all_but(&names)?;
        let known = self.known()?;
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
                    let path = folder.join(format!("{name}.json"));
                    let read = disk::read(&path, LARGEST_DOCUMENT).map_err(|error| error.to_string());
                    step(new.len());
                    ((*name).clone(), read.and_then(|text| wanted(&text, self.mode)))
                },
            );
            update.added += self.take_up(&read)?;
        }
        self.set_stamp(stamp)?;
        Ok(update)
    }

    /// Takes up what was sent and is not in the tables yet.
    fn update_from_sent(
        &mut self,
        is_interrupted: &(dyn Fn() -> bool + Sync),
        step: &(dyn Fn(usize) + Sync),
    ) -> Result<Update, IndexError> {
        let (database, mode) = (&self.database, self.mode);
        let n_pending = self.n_pending()?;
        let mut update = Update::default();
        loop {
            if is_interrupted() {
                update.is_partial = true;
                return Ok(update);
            }
            let (n, n_added) = database.together(|| {
                let sql = include_str!("sql/take_up.sql");
                let sent: Vec<(String, Vec<u8>)> =
                    database.ask(sql, &[&BATCH, &mode.word()], |row| Ok((row.get(0)?, row.get(1)?)))?;
                let read = across(
                    &sent,
                    || (),
                    |(), (name, text)| {
                        step(n_pending);
                        (name.clone(), wanted(text, mode))
                    },
                );
                let added = read.iter().map(|(name, read)| take_up_one(database, name, read));
                Ok((sent.len(), added.sum::<Result<usize, _>>()?))
            })?;
            update.added += n_added;
            if n == 0 {
                return Ok(update);
            }
        }
    }

    /// Returns how many records of the mode arrived on the server and are not in its tables yet.
    fn n_pending(&self) -> Result<usize, IndexError> {
        let sql = "SELECT COUNT(*) FROM pending JOIN document USING (number) WHERE mode = $1";
        Ok(self.database.value(sql, &[&self.mode.word()])?.unwrap_or_default())
    }

    /// Forgets which files were left out, and the records that are no longer there.
    fn forget_all_but(&mut self, names: &HashSet<String>) -> Result<(), IndexError> {
        self.database.together(|| {
            self.database.change("DELETE FROM skipped", &[])?;
            for gone in self.known()?.difference(names) {
                writing::forget(&self.database, gone)?;
            }
            Ok(())
        })
    }

    /// Takes up what was read of files, all of it or nothing, and returns how many records were new.
    pub(crate) fn take_up(&mut self, read: &[(String, Result<Record, String>)]) -> Result<usize, IndexError> {
        self.database.together(|| {
            let added = read.iter().map(|(name, read)| take_up_one(&self.database, name, read));
            added.sum()
        })
    }

    /// Has the questions from here on be about some of the records only.
    pub(crate) fn about(&mut self, asked: Asked) {
        self.asked = asked;
    }

    pub(super) fn asked(&self) -> &Asked {
        &self.asked
    }

    /// Asks a question in SQL, whose parameters are called `$1`, `$2` and so on, and reads each row of the answer.
    pub(super) fn ask<T>(
        &self,
        sql: &str,
        parameters: &[&dyn ToSql],
        read: impl FnMut(&Row<'_>) -> Result<T, IndexError>,
    ) -> Result<Vec<T>, IndexError> {
        let (sql, more) = self.asked.narrowed(sql, parameters.len());
        let parameters: Vec<&dyn ToSql> =
            parameters.iter().copied().chain(more.iter().map(|one| &**one)).collect();
        self.database.ask(&sql, &parameters, read)
    }

    fn last_stamp(&self) -> Result<Option<i64>, IndexError> {
        self.database.value("SELECT value FROM state WHERE name = 'stamp'", &[])
    }

    fn set_stamp(&self, stamp: Option<i64>) -> Result<(), IndexError> {
        self.database.change("DELETE FROM state", &[])?;
        if let Some(stamp) = stamp {
            self.database.change("INSERT INTO state VALUES ('stamp', $1)", &[&stamp])?;
        }
        Ok(())
    }

    /// The sessions whose records are in the index.
    fn known(&self) -> Result<HashSet<String>, IndexError> {
        let known = self.ask("SELECT session FROM record", &[], |row| row.get(0))?;
        Ok(known.into_iter().collect())
    }
}

/// The time of a folder of records, once it is too old for a file to have been added since within it.
fn stamp(folder: &Path) -> Result<Option<i64>, IndexError> {
    let failed = |error| IndexError::Folder(folder.to_owned(), error);
    let changed = fs::metadata(folder).and_then(|folder| folder.modified()).map_err(failed)?;
    let is_settled = SystemTime::now().duration_since(changed).is_ok_and(|age| age > GRAIN);
    let since = changed.duration_since(UNIX_EPOCH).ok().filter(|_| is_settled);
    Ok(since.and_then(|since| i64::try_from(since.as_nanos()).ok()))
}

fn names_in(folder: &Path) -> Result<HashSet<String>, IndexError> {
    let failed = |error| IndexError::Folder(folder.to_owned(), error);
    let mut names = HashSet::new();
    for entry in fs::read_dir(folder).map_err(failed)? {
        let name = entry.map_err(failed)?.file_name();
        let name = name.to_str().and_then(|name| name.strip_suffix(".json"));
        names.extend(name.filter(|name| !name.starts_with('.')).map(str::to_owned));
    }
    Ok(names)
}

/// Takes up one record, or notes why it is left out; returns how many are new.
fn take_up_one(database: &Database, name: &str, read: &Result<Record, String>) -> Result<usize, IndexError> {
    let why = match read {
        Ok(record) if record.session != name => format!("the session in it is {}", record.session),
        Ok(record) => {
            let digest = record.digest.as_deref().unwrap_or_default();
            let known: Option<String> =
                database.value("SELECT digest FROM record WHERE session = $1", &[&name])?;
            match known {
                None => {
                    writing::add(database, record, digest)?;
                    return Ok(1);
                }
                // Another program has taken it up meanwhile, or it was signed since.
                Some(known) if known == digest => return Ok(0),
                Some(known) => format!("another record of that name came first, with the digest {known}"),
            }
        }
        Err(why) => why.clone(),
    };
    let skipped: [&dyn ToSql; 2] = [&name, &why];
    database.add("INSERT INTO skipped", &[skipped], "ON CONFLICT (name) DO UPDATE SET why = excluded.why")?;
    Ok(0)
}

/// Reads the text of a record that the history of a mode wants, or says why it does not want it.
///
/// A record that was changed since it was stored says nothing any more.
pub(super) fn wanted(text: &[u8], mode: Mode) -> Result<Record, String> {
    /// What tells whether the rest can be read and is wanted.
    #[derive(Deserialize)]
    struct Head {
        format: String,
        mode: Mode,
    }
    let head: Head = serde_json::from_slice(text).map_err(|error| error.to_string())?;
    if head.format != FORMAT {
        return Err(format!("its format is {}", head.format));
    }
    if head.mode != mode {
        return Err(format!("it is of the mode {}, and not of {}", head.mode.word(), mode.word()));
    }
    let record: Record = serde_json::from_slice(text).map_err(|error| error.to_string())?;
    if !record.is_as_stored() {
        return Err("it is not as it was stored; records audit says how that shows".to_owned());
    }
    Ok(record)
}

fn path(shop: &Shop) -> PathBuf {
    shop.root().join("history.sqlite")
}

fn connect(path: &Path) -> Result<Database, IndexError> {
    // The database makes its file for its owner to write, others to read; this one is the shop's, as any file of it.
    let _ = append_to(path);
    let database = Database::file(path)?;
    let version = || database.value::<i64>("PRAGMA user_version", &[]);
    if version()? != Some(VERSION) {
        // Another program may have made the tables meanwhile.
        database.together(|| if version()? == Some(VERSION) { Ok(()) } else { make_tables(&database) })?;
    }
    Ok(database)
}

/// Throws everything away and begins with empty tables.
fn make_tables(database: &Database) -> Result<(), IndexError> {
    let sql = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'";
    let tables: Vec<String> = database.ask(sql, &[], |row| row.get(0))?;
    for table in tables {
        database.say(&format!("DROP TABLE \"{}\"", table.replace('"', "\"\"")))?;
    }
    database.say(TABLES)?;
    database.say(&format!("PRAGMA user_version = {VERSION}"))
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
