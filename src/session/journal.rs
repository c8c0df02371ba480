use std::collections::HashSet;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use data_encoding::HEXLOWER;
use jiff::Timestamp;
use serde::de::IgnoredAny;
use sha2::{Digest, Sha256};

use crate::disk::{self, LARGEST_DOCUMENT, plain, sync_folder, write_new, write_whole};
use crate::record::{Answer, Event, Opening, ProcedureIdentity, Question, What, latest_procedure};

/// A session's log of events.
///
/// Each line carries a seal, the start of SHA-256 over the seal before it and the event as it is written there, so that
/// a changed, cut or missing line is noticed.
pub(crate) struct Journal {
    /// None where the session is over and its events are only walked again.
    log: Option<Log>,
    events: Vec<Event>,
    taken_back: HashSet<u64>,
    seal: String,
}

impl Journal {
    pub(crate) fn create(path: &Path) -> Result<Journal, LogError> {
        Ok(Journal { log: Some(Log::create(path)?), ..Journal::of(Vec::new()) })
    }

    pub(crate) fn open(path: &Path) -> Result<Journal, LogError> {
        let (mut seal, mut n) = (String::new(), 0);
        let (log, events) = Log::open(path, |line| {
            n += 1;
            unsealed(&mut seal, n, line)
        })?;
        Ok(Journal { log: Some(log), seal, ..Journal::of(events) })
    }

    /// Takes the events of a session that is over, to walk it again; what is appended is kept nowhere.
    pub(crate) fn of(events: Vec<Event>) -> Journal {
        let taken_back = events.iter().flat_map(|event| taken_back(&event.what)).copied().collect();
        Journal { log: None, events, taken_back, seal: String::new() }
    }

    /// Returns how a session was opened, whoever has its journal open.
    pub(crate) fn opening(path: &Path) -> Option<Opening> {
        let bytes = disk::read(path, LARGEST_DOCUMENT).ok()?;
        let line = bytes.split(|byte| *byte == b'\n').next()?;
        match unsealed(&mut String::new(), 1, line).ok()?.what {
            What::Opened { opening } => Some(*opening),
            _ => None,
        }
    }

    /// Cuts a damaged journal back to the lines before the damage, and returns how many these are and under which name the
    /// damaged one is kept; none where it is not damaged.
    pub(crate) fn mend(path: &Path) -> Result<Option<(usize, PathBuf)>, LogError> {
        let intact = match Journal::open(path) {
            Ok(_) => return Ok(None),
            Err(LogError::Damaged { line, .. }) => line - 1,
            Err(error) => return Err(error),
        };
        let failed = |error| LogError::Io(path.to_owned(), error);
        let bytes = disk::read(path, LARGEST_DOCUMENT).map_err(failed)?;
        let mut n = 1;
        let kept = loop {
            let kept = path.with_extension(format!("damaged-{n}"));
            match write_new(&kept, &bytes, None) {
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => n += 1,
                written => break written.map(|()| kept).map_err(failed)?,
            }
        };
        let lines: Vec<_> = bytes.split_inclusive(|byte| *byte == b'\n').take(intact).collect();
        write_whole(path, &lines.concat()).map_err(failed)?;
        Ok(Some((intact, kept)))
    }

    /// Appends an event and waits until it is on the disk.
    ///
    /// # Errors
    /// Where the disk refuses; the event then does not count as taken.
    pub(crate) fn append(&mut self, at: Timestamp, what: What) -> Result<u64, LogError> {
        let n = self.events.len() as u64 + 1;
        let event = Event { n, at, what };
        if let Some(log) = &mut self.log {
            let (line, seal) = sealed(&self.seal, &event)
                .map_err(|error| LogError::Io(log.path().to_owned(), io::Error::other(error)))?;
            log.append(&line)?;
            self.seal = seal;
        }
        self.taken_back.extend(taken_back(&event.what));
        self.events.push(event);
        Ok(n)
    }

    /// Finds the answer that stands for a question: the last one given to it, unless that was taken back. A kept answer
    /// that no longer fits is asked again; from then on it does not count any more, fitting or not.
    pub(crate) fn kept(&self, question: &Question) -> Option<(&Event, &Answer)> {
        let (event, answer) = self.events.iter().rev().find_map(|event| match &event.what {
            What::Answered { question: asked, answer } if asked.is_same(question) => Some((event, answer)),
            _ => None,
        })?;
        let stands = !self.taken_back.contains(&event.n) && question.accepts(answer).is_ok();
        stands.then_some((event, answer))
    }

    /// Returns the whole journal as it stands in its file, to be saved elsewhere when that is out of reach.
    pub(crate) fn text(&self) -> serde_json::Result<String> {
        let (mut text, mut before) = (String::new(), String::new());
        for event in &self.events {
            let (line, seal) = sealed(&before, event)?;
            text += &line;
            text.push('\n');
            before = seal;
        }
        Ok(text)
    }

    /// Gives its events away, when all is done.
    pub(super) fn take(&mut self) -> Vec<Event> {
        std::mem::take(&mut self.events)
    }

    pub(crate) fn events(&self) -> &[Event] {
        &self.events
    }

    pub(crate) fn event(&self, n: u64) -> Option<&Event> {
        self.events.get(usize::try_from(n).ok()?.checked_sub(1)?)
    }

    /// Returns whether the session came to its end, whatever became of its record.
    pub(crate) fn is_finished(&self) -> bool {
        matches!(self.events.last().map(|event| &event.what), Some(What::Finished { .. }))
    }

    /// Returns the procedure that the session was opened or, where it had changed, last resumed with.
    pub(crate) fn procedure(&self) -> Option<&ProcedureIdentity> {
        latest_procedure(&self.events)
    }

    /// Returns the answers that have not been retracted, in order.
    pub(crate) fn standing(&self) -> impl DoubleEndedIterator<Item = (u64, &Question, &Answer)> {
        self.events.iter().filter_map(|event| match &event.what {
            What::Answered { question, answer } if !self.taken_back.contains(&event.n) => {
                Some((event.n, question, answer))
            }
            _ => None,
        })
    }
}

/// Returns the numbers of the answers that an event takes back.
fn taken_back(what: &What) -> &[u64] {
    match what {
        What::Retracted { answers } | What::Drifted { answers, .. } => answers,
        _ => &[],
    }
}

/// Returns the line of an event, and its seal.
fn sealed(before: &str, event: &Event) -> serde_json::Result<(String, String)> {
    let text = serde_json::to_string(event)?;
    let seal = seal_over(before, &text);
    Ok((format!("{{\"event\":{text},\"seal\":\"{seal}\"}}"), seal))
}

/// Reads the event of a line, whose seal stands in the place of the one before it then.
fn unsealed(before: &mut String, n: u64, line: &[u8]) -> Result<Event, String> {
    let parts = std::str::from_utf8(line)
        .ok()
        .and_then(|line| line.strip_prefix("{\"event\":")?.strip_suffix("\"}")?.rsplit_once(",\"seal\":\""));
    let (text, seal) = parts.ok_or("it is no sealed event")?;
    let event: Event = serde_json::from_str(text).map_err(|error| error.to_string())?;
    if seal != seal_over(before, text) || event.n != n {
        return Err("its seal does not fit".to_owned());
    }
    seal.clone_into(before);
    Ok(event)
}

fn seal_over(before: &str, event: &str) -> String {
    let digest = Sha256::new().chain_update(before).chain_update(event).finalize();
    HEXLOWER.encode(&digest[..8])
}

/// A file that is only appended to, one JSON document a line: each line is on the disk before [`Log::append`] returns, and
/// one program at a time has it open.
#[derive(Debug)]
pub(crate) struct Log {
    path: PathBuf,
    file: File,
}

#[derive(Debug, thiserror::Error)]
pub(crate) enum LogError {
    #[error("{}: {}", .0.display(), .1)]
    Io(PathBuf, io::Error),
    #[error("{} is open in another program; finish or park it there first", .0.display())]
    InUse(PathBuf),
    /// A line before the last is damaged; those before it are intact.
    #[error("{} is damaged at line {line} ({why}). The {} lines before it are intact", path.display(), line - 1)]
    Damaged {
        path: PathBuf,
        /// The line, from 1.
        line: usize,
        why: String,
    },
}

impl Log {
    pub(crate) fn create(path: &Path) -> Result<Log, LogError> {
        let failed = |error| LogError::Io(path.to_owned(), error);
        let file = OpenOptions::new().append(true).create_new(true).open(path).map_err(failed)?;
        let log = Log::locked(path, file)?;
        path.parent().map_or(Ok(()), sync_folder).map_err(failed)?;
        Ok(log)
    }

    /// Opens a log, and gives each of its lines to `read`.
    ///
    /// A last line that was cut off while it was written was never acknowledged; it is removed.
    ///
    /// # Errors
    /// Where the file can't be read, or `read` says what is wrong with a line: then it stays as it is.
    pub(crate) fn open<T>(
        path: &Path,
        mut read: impl FnMut(&[u8]) -> Result<T, String>,
    ) -> Result<(Log, Vec<T>), LogError> {
        let failed = |error| LogError::Io(path.to_owned(), error);
        let (file, _) = plain(path, OpenOptions::new().append(true).read(true)).map_err(failed)?;
        let mut log = Log::locked(path, file)?;
        let bytes = disk::read(path, LARGEST_DOCUMENT).map_err(failed)?;
        let (mut entries, mut intact) = (Vec::new(), 0);
        for line in bytes.split_inclusive(|byte| *byte == b'\n') {
            let text = line.strip_suffix(b"\n").unwrap_or(line);
            let is_whole = text.len() < line.len();
            match read(text) {
                Ok(entry) => entries.push(entry),
                Err(_) if !is_whole && is_cut(text) => break,
                Err(why) => {
                    return Err(LogError::Damaged { path: path.to_owned(), line: entries.len() + 1, why });
                }
            }
            if !is_whole {
                // Whole but for its line feed: give it that, so that the next line starts on its own.
                log.file.write_all(b"\n").map_err(failed)?;
            }
            intact += line.len();
        }
        if intact < bytes.len() {
            log.file.set_len(intact as u64).and_then(|()| log.file.sync_all()).map_err(failed)?;
        }
        Ok((log, entries))
    }

    /// Appends a line and waits until it is on the disk.
    ///
    /// # Errors
    /// Where the disk refuses; the line then does not count as taken.
    pub(crate) fn append(&mut self, line: &str) -> Result<(), LogError> {
        let failed = |error| LogError::Io(self.path.clone(), error);
        // A file that was removed, or went with its disk, still takes what is written, and keeps none of it.
        std::fs::metadata(&self.path).map_err(failed)?;
        let before = self.file.metadata().map_err(failed)?.len();
        let written = self.file.write_all(format!("{line}\n").as_bytes());
        written.and_then(|()| self.file.sync_data()).map_err(|error| {
            // Half a line must not stay in front of a later one.
            let _ = self.file.set_len(before);
            failed(error)
        })
    }

    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    /// Takes the file for this program alone, until it ends. Where the file system has no locks, nobody is kept out.
    fn locked(path: &Path, file: File) -> Result<Log, LogError> {
        match file.try_lock() {
            Err(TryLockError::WouldBlock) => Err(LogError::InUse(path.to_owned())),
            _ => Ok(Log { path: path.to_owned(), file }),
        }
    }
}

/// Returns whether a line without its line feed was cut off while it was written: it ends before its document does, or
/// in the zeros of a disk that lost its power. Anything else has been damaged, and may have been acknowledged.
fn is_cut(bytes: &[u8]) -> bool {
    bytes.contains(&0) || serde_json::from_slice::<IgnoredAny>(bytes).is_err_and(|error| error.is_eof())
}
