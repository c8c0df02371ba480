use std::collections::HashSet;
use std::io;
use std::path::{Path, PathBuf};

use data_encoding::HEXLOWER;
use jiff::Timestamp;
use sha2::{Digest, Sha256};

use crate::disk::{self, LARGEST_DOCUMENT, Log, LogError, write_new, write_whole};
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
        match Journal::events_in(path).into_iter().next()?.what {
            What::Opened { opening } => Some(*opening),
            _ => None,
        }
    }

    /// Returns the events of a journal, whoever has it open: as far as it is not damaged.
    pub(crate) fn events_in(path: &Path) -> Vec<Event> {
        let bytes = disk::read(path, LARGEST_DOCUMENT).unwrap_or_default();
        let mut seal = String::new();
        let lines = bytes.split(|byte| *byte == b'\n').zip(1..);
        lines.map_while(|(line, n)| unsealed(&mut seal, n, line).ok()).collect()
    }

    /// Cuts a damaged journal back to the lines before the damage, and returns how many these are and under which name
    /// the damaged one is kept; none where it is not damaged.
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

    /// Returns when one of the rig's two points was read last.
    pub(crate) fn looked_at_rig(&self) -> Option<Timestamp> {
        let look = self.standing().rev().find(|(_, question, _)| question.reads_rig());
        look.and_then(|(n, ..)| self.event(n)).map(|event| event.at)
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
