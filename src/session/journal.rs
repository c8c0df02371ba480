use std::collections::HashSet;
use std::io;
use std::path::Path;

use data_encoding::HEXLOWER;
use jiff::Timestamp;
use sha2::{Digest, Sha256};

use super::{Log, LogError};
use crate::record::{
    Answer, Event, ProcedureIdentity, Question, RigParts, What, latest_procedure, latest_rig,
};

/// A session's log of events.
///
/// Each line carries a seal, the start of SHA-256 over the seal before it and the event as it is written there, so that
/// a changed, cut or missing line is noticed.
pub struct Journal {
    log: Log,
    events: Vec<Event>,
    seal: String,
}

impl Journal {
    pub fn create(path: &Path) -> Result<Journal, LogError> {
        Ok(Journal { log: Log::create(path)?, events: Vec::new(), seal: String::new() })
    }

    pub fn open(path: &Path) -> Result<Journal, LogError> {
        let (mut seal, mut n) = (String::new(), 0);
        let (log, events) = Log::open(path, |line| {
            n += 1;
            unsealed(&mut seal, n, line)
        })?;
        Ok(Journal { log, events, seal })
    }

    /// Appends an event and waits until it is on the disk.
    ///
    /// # Errors
    /// Where the disk refuses; the event then does not count as taken.
    pub fn append(&mut self, at: Timestamp, what: What) -> Result<u64, LogError> {
        let n = self.events.len() as u64 + 1;
        let event = Event { n, at, what };
        let (line, seal) = sealed(&self.seal, &event)
            .map_err(|error| LogError::Io(self.log.path().to_owned(), io::Error::other(error)))?;
        self.log.append(&line)?;
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
            let (line, seal) = sealed(&before, event)?;
            text += &line;
            text.push('\n');
            before = seal;
        }
        Ok(text)
    }

    pub fn events(&self) -> &[Event] {
        &self.events
    }

    pub fn event(&self, n: u64) -> Option<&Event> {
        self.events.get(usize::try_from(n).ok()?.checked_sub(1)?)
    }

    /// Returns whether the session came to its end, whatever became of its record.
    pub fn is_finished(&self) -> bool {
        matches!(self.events.last().map(|event| &event.what), Some(What::Finished { .. }))
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
        let taken_back = self.events.iter().filter_map(|event| match &event.what {
            What::Retracted { answers } | What::Drifted { answers, .. } => Some(answers.iter().copied()),
            _ => None,
        });
        let taken_back: HashSet<u64> = taken_back.flatten().collect();
        self.events.iter().filter_map(move |event| match &event.what {
            What::Answered { question, answer } if !taken_back.contains(&event.n) => {
                Some((event.n, question, answer))
            }
            _ => None,
        })
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
