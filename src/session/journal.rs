use std::fmt;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use serde::de::IgnoredAny;
use sha2::{Digest, Sha256};

use crate::record::{
    Answer, Event, ProcedureIdentity, Question, RigParts, What, latest_procedure, latest_rig,
};

/// A session's append-only log on the disk, one JSON document a line.
///
/// Each line carries a seal, the start of SHA-256 over the seal before it and the event as it is written there, so that
/// a changed, cut or missing line is noticed. A line is on the disk before [`Journal::append`] returns.
pub struct Journal {
    path: PathBuf,
    file: File,
    events: Vec<Event>,
    seal: String,
}

/// Why a journal cannot be used.
#[derive(Debug)]
pub enum JournalError {
    /// The disk refused.
    Io(PathBuf, io::Error),
    /// Another program has the session open.
    InUse(PathBuf),
    /// A line before the last is damaged; the events before it are intact.
    Damaged {
        /// The file.
        path: PathBuf,
        /// The line, from 1.
        line: usize,
        /// What is wrong with it.
        why: String,
    },
}

impl fmt::Display for JournalError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            JournalError::Io(path, error) => write!(f, "{}: {error}", path.display()),
            JournalError::InUse(path) => {
                write!(f, "{} is open in another program; finish or park it there first", path.display())
            }
            JournalError::Damaged { path, line, why } => write!(
                f,
                "{} is damaged at line {line} ({why}). The {} lines before it are intact. To go on from there, copy the \
                 file, then delete line {line} and all after it",
                path.display(),
                line - 1
            ),
        }
    }
}

impl Journal {
    /// Begins a journal in a new file.
    ///
    /// # Errors
    /// Where the file exists or cannot be made.
    pub fn create(path: &Path) -> Result<Journal, JournalError> {
        let failed = |error| JournalError::Io(path.to_owned(), error);
        let file = OpenOptions::new().append(true).create_new(true).open(path).map_err(failed)?;
        lock(path, &file)?;
        if let Some(folder) = path.parent() {
            File::open(folder).and_then(|folder| folder.sync_all()).map_err(failed)?;
        }
        Ok(Journal { path: path.to_owned(), file, events: Vec::new(), seal: String::new() })
    }

    /// Opens a journal and reads what is in it.
    ///
    /// A last line that was cut off while it was written was never acknowledged; it is removed.
    ///
    /// # Errors
    /// Where the file cannot be read or a line in it is damaged.
    pub fn open(path: &Path) -> Result<Journal, JournalError> {
        let failed = |error| JournalError::Io(path.to_owned(), error);
        let file = OpenOptions::new().append(true).read(true).open(path).map_err(failed)?;
        lock(path, &file)?;
        let bytes = std::fs::read(path).map_err(failed)?;
        let mut journal = Journal { path: path.to_owned(), file, events: Vec::new(), seal: String::new() };
        let mut intact = 0;
        for (index, line) in bytes.split_inclusive(|byte| *byte == b'\n').enumerate() {
            let is_whole = line.ends_with(b"\n");
            match journal.unseal(line) {
                Ok(event) => journal.events.push(event),
                Err(_) if !is_whole && is_cut(line) => break,
                Err(why) => {
                    return Err(JournalError::Damaged { path: path.to_owned(), line: index + 1, why });
                }
            }
            if !is_whole {
                // Whole but for its line feed: give it that, so that the next line starts on its own.
                journal.file.write_all(b"\n").map_err(failed)?;
            }
            intact += line.len();
        }
        if intact < bytes.len() && !bytes[intact..].contains(&b'\n') {
            journal.file.set_len(intact as u64).and_then(|()| journal.file.sync_all()).map_err(failed)?;
        }
        Ok(journal)
    }

    /// Appends an event and waits until it is on the disk.
    ///
    /// # Errors
    /// Where the disk refuses; the event then does not count as taken.
    pub fn append(&mut self, at: Timestamp, what: What) -> Result<u64, JournalError> {
        let failed = |error| JournalError::Io(self.path.clone(), error);
        let n = self.events.len() as u64 + 1;
        let event = Event { n, at, what };
        let (text, seal) = line(&self.seal, &event).map_err(|error| failed(io::Error::other(error)))?;
        // A file that was removed, or went with its disk, still takes what is written, and keeps none of it.
        std::fs::metadata(&self.path).map_err(failed)?;
        let before = self.file.metadata().map_err(failed)?.len();
        let written = self.file.write_all(text.as_bytes()).and_then(|()| self.file.sync_data());
        if let Err(error) = written {
            // Half a line must not stay in front of a later one.
            let _ = self.file.set_len(before);
            return Err(failed(error));
        }
        self.seal = seal;
        self.events.push(event);
        Ok(n)
    }

    /// Returns the whole journal as it stands in its file, to be saved elsewhere when that is out of reach.
    ///
    /// # Errors
    /// Where an event cannot be written as JSON, which none of a journal is.
    pub fn text(&self) -> serde_json::Result<String> {
        let (mut text, mut before) = (String::new(), String::new());
        for event in &self.events {
            let (next, seal) = line(&before, event)?;
            text += &next;
            before = seal;
        }
        Ok(text)
    }

    /// Returns the events, in order.
    pub fn events(&self) -> &[Event] {
        &self.events
    }

    /// Returns the procedure that the session was opened or, where it had changed, last resumed with.
    pub fn procedure(&self) -> Option<&ProcedureIdentity> {
        latest_procedure(&self.events)
    }

    /// Returns the parts of the rig that the session was opened or, where they had changed, last resumed with.
    pub fn rig(&self) -> Option<RigParts> {
        latest_rig(&self.events)
    }

    /// Returns the answers that have not been retracted, in order.
    pub fn standing(&self) -> impl DoubleEndedIterator<Item = (u64, &Question, &Answer)> {
        let retracted: std::collections::HashSet<u64> = self
            .events
            .iter()
            .filter_map(|event| match &event.what {
                What::Retracted { answers } | What::Drifted { answers, .. } => Some(answers.iter().copied()),
                _ => None,
            })
            .flatten()
            .collect();
        self.events.iter().filter_map(move |event| match &event.what {
            What::Answered { question, answer } if !retracted.contains(&event.n) => {
                Some((event.n, question, answer))
            }
            _ => None,
        })
    }

    fn unseal(&mut self, line: &[u8]) -> Result<Event, String> {
        let (text, seal) = parts(line).ok_or("it is no sealed event")?;
        let event: Event = serde_json::from_str(text).map_err(|error| error.to_string())?;
        if seal != seal_over(&self.seal, text) || event.n != self.events.len() as u64 + 1 {
            return Err("its seal does not fit".to_owned());
        }
        seal.clone_into(&mut self.seal);
        Ok(event)
    }
}

/// Takes the journal for this program alone, until it ends. Where the file system has no locks, nobody is kept out.
fn lock(path: &Path, file: &File) -> Result<(), JournalError> {
    match file.try_lock() {
        Err(TryLockError::WouldBlock) => Err(JournalError::InUse(path.to_owned())),
        _ => Ok(()),
    }
}

/// Returns whether a line without its line feed was cut off while it was written: it ends before its document does, or
/// in the zeros of a disk that lost its power. Anything else has been damaged, and may have been acknowledged.
fn is_cut(bytes: &[u8]) -> bool {
    bytes.contains(&0) || serde_json::from_slice::<IgnoredAny>(bytes).is_err_and(|error| error.is_eof())
}

/// Returns the line of an event, with its line feed, and its seal.
fn line(before: &str, event: &Event) -> serde_json::Result<(String, String)> {
    let text = serde_json::to_string(event)?;
    let seal = seal_over(before, &text);
    Ok((format!("{{\"event\":{text},\"seal\":\"{seal}\"}}\n"), seal))
}

/// Returns the event and the seal of a line, as they are written in it.
fn parts(line: &[u8]) -> Option<(&str, &str)> {
    let line = std::str::from_utf8(line).ok()?;
    line.strip_suffix('\n')
        .unwrap_or(line)
        .strip_prefix("{\"event\":")?
        .strip_suffix("\"}")?
        .rsplit_once(",\"seal\":\"")
}

fn seal_over(before: &str, event: &str) -> String {
    let digest = Sha256::new().chain_update(before).chain_update(event).finalize();
    digest[..8].iter().map(|byte| format!("{byte:02x}")).collect()
}
