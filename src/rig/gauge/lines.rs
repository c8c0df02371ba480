use std::io::{ErrorKind, Read};
use std::sync::mpsc::{Receiver, SyncSender, TrySendError, sync_channel};
use std::sync::{Arc, Weak};
use std::thread;
use std::time::Instant;

/// A line as it came, or why none will come any more, and when.
#[derive(Debug)]
pub(super) struct Arrival {
    pub(super) line: Result<String, String>,
    pub(super) at: Instant,
}

/// A stream cut into lines by a thread of its own, since a read may block for ever.
///
/// The thread never waits for whoever takes the lines: when too many are waiting it drops what comes, so that what comes
/// after they were taken is fresh.
#[derive(Debug)]
pub(super) struct Lines {
    arrivals: Receiver<Arrival>,
    /// The thread sees by this that the lines are still wanted.
    _wanted: Arc<()>,
}

/// No gauge line is longer than this many bytes.
const LONGEST: usize = 200;

/// So many lines may wait to be taken.
const WAITING: usize = 1024;

impl Lines {
    pub(super) fn of(stream: impl Read + Send + 'static) -> Lines {
        let (sender, arrivals) = sync_channel(WAITING);
        let wanted = Arc::new(());
        let is_wanted = Arc::downgrade(&wanted);
        thread::spawn(move || Cutter { sender, is_wanted, line: Vec::new(), is_whole: false }.run(stream));
        Lines { arrivals, _wanted: wanted }
    }

    pub(super) fn arrivals(&self) -> &Receiver<Arrival> {
        &self.arrivals
    }
}

struct Cutter {
    sender: SyncSender<Arrival>,
    is_wanted: Weak<()>,
    line: Vec<u8>,
    /// Whether the line began at the end of another; the first one may be the rest of one.
    is_whole: bool,
}

impl Cutter {
    fn run(mut self, mut stream: impl Read) {
        let mut bytes = [0; 256];
        while self.is_wanted.strong_count() > 0 {
            match stream.read(&mut bytes) {
                Ok(0) => return self.send(Err("the stream has ended".to_owned())),
                Ok(count) => bytes[..count].iter().for_each(|byte| self.take(*byte)),
                Err(error) if is_passing(error.kind()) => {}
                Err(error) => return self.send(Err(error.to_string())),
            }
        }
    }

    fn take(&mut self, byte: u8) {
        let ends = matches!(byte, b'\n' | b'\r');
        if !ends {
            self.line.push(byte);
        }
        // A stream without ends of lines is passed on in pieces, to be found babbling.
        if ends || self.line.len() == LONGEST {
            let text = String::from_utf8_lossy(&self.line).trim().to_owned();
            self.line.clear();
            let is_line = std::mem::replace(&mut self.is_whole, true) || !ends;
            if is_line && !text.is_empty() {
                self.send(Ok(text));
            }
        }
    }

    /// A line that finds no place is dropped; one that finds nobody ends the thread at its next look.
    fn send(&self, line: Result<String, String>) {
        let arrival = Arrival { line, at: Instant::now() };
        match self.sender.try_send(arrival) {
            Err(TrySendError::Full(arrival)) if arrival.line.is_err() => {
                // The end of the stream is worth waiting for; when nobody is there, it is over anyway.
                let _ = self.sender.send(arrival);
            }
            Ok(()) | Err(TrySendError::Full(_) | TrySendError::Disconnected(_)) => {}
        }
    }
}

fn is_passing(kind: ErrorKind) -> bool {
    matches!(kind, ErrorKind::Interrupted | ErrorKind::TimedOut | ErrorKind::WouldBlock)
}
