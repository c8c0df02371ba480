use std::collections::VecDeque;
use std::fs::File;
use std::io::{BufRead, BufReader, ErrorKind, Read};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, TrySendError, sync_channel};
use std::sync::{Arc, Weak};
use std::thread;
use std::time::{Duration, Instant};

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::{GaugeLine, LineFormat};
use crate::console::leave_stops;
use crate::quantity::Pressure;

pub(crate) trait Gauge {
    /// Forgets what has come and has not been taken: it belongs to what the hose was on before.
    fn forget(&mut self);

    /// Returns the next sample; `None` where none has come after waiting this long.
    ///
    /// After an error the gauge is of no more use.
    fn next(&mut self, wait: Duration) -> Result<Option<Sample>, GaugeError>;
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Sample {
    /// The line as it came, without its end.
    pub line: String,
    pub vacuum_pa: Pressure,
    /// When it came, in s since the gauge was opened.
    pub at_s: f64,
}

/// Why a gauge that reads itself has nothing to offer.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub(crate) enum GaugeError {
    #[error("the gauge at {place} cannot be opened ({why}); check its cable and its name, or type readings")]
    Unopened { place: String, why: String },
    #[error("the gauge is gone ({why}); check its plug and its power, or type the reading")]
    Lost { why: String },
    #[error(
        "the gauge has sent nothing for {seconds} s; check that it is on and set to send, or type the \
         reading"
    )]
    Silent { seconds: u64 },
    #[error("the gauge sends {found}, but {wanted} is agreed; switch it back, or type the reading")]
    WrongUnit { found: &'static str, wanted: &'static str },
    #[error(
        "what the gauge sends does not fit its format, as \"{line}\"; check its speed (baud) and format, or \
         type the reading"
    )]
    Babbling { line: String },
    #[error(
        "the needle has not come to rest in {seconds} s; look for a leaking connection, or type the reading"
    )]
    Restless { seconds: u64 },
}

/// Where a gauge's lines come from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum GaugeSource {
    /// A serial port, as `/dev/ttyUSB0` or `COM3`, at this speed in baud.
    Serial { port: PathBuf, baud: u32 },
    /// Anything else that can be opened and read. A plain file is played from its beginning at ten lines a second, and
    /// what is appended to it follows.
    Stream(PathBuf),
}

/// How long a read of a serial port waits before it looks again.
const PATIENCE: Duration = Duration::from_millis(200);

/// The time between two lines of a plain file.
const PACE: Duration = Duration::from_millis(100);

impl GaugeSource {
    /// Opens it. A pipe that nobody writes to yet keeps this waiting.
    pub(crate) fn open(&self) -> Result<Box<dyn Read + Send>, GaugeError> {
        match self {
            GaugeSource::Serial { port, baud } => {
                let fail = |error| unopened(port, &error);
                let mut serial = serial2::SerialPort::open(port, *baud).map_err(fail)?;
                serial.set_read_timeout(PATIENCE).map_err(fail)?;
                Ok(Box::new(serial))
            }
            GaugeSource::Stream(path) => {
                let fail = |error| unopened(path, &error);
                let file = File::open(path).map_err(fail)?;
                let is_plain = file.metadata().map_err(fail)?.is_file();
                Ok(if is_plain { Box::new(Played::new(file)) } else { Box::new(file) })
            }
        }
    }
}

fn unopened(place: &Path, error: &std::io::Error) -> GaugeError {
    GaugeError::Unopened { place: place.display().to_string(), why: error.to_string() }
}

/// A plain file, read as if a gauge were sending it.
struct Played {
    file: BufReader<File>,
    line: Vec<u8>,
}

impl Played {
    fn new(file: File) -> Played {
        // The first line of a stream is passed over; a file's is whole.
        Played { file: BufReader::new(file), line: vec![b'\n'] }
    }
}

impl Read for Played {
    fn read(&mut self, bytes: &mut [u8]) -> std::io::Result<usize> {
        if self.line.is_empty() {
            thread::sleep(PACE);
            if self.file.read_until(b'\n', &mut self.line)? == 0 {
                return Err(ErrorKind::WouldBlock.into());
            }
        }
        let count = self.line.len().min(bytes.len());
        bytes[..count].copy_from_slice(&self.line[..count]);
        self.line.drain(..count);
        Ok(count)
    }
}

/// A gauge that sends a line for each sample.
///
/// Lines that do not fit the format are passed over while most do. What stands in the stream before the first end of a
/// line may be the rest of a line, and is passed over too.
#[derive(Debug)]
pub(crate) struct StreamGauge {
    format: LineFormat,
    lines: LineStream,
    opened: Instant,
    last_line: Instant,
    recent: VecDeque<Fit>,
}

#[derive(Debug, PartialEq)]
enum Fit {
    Well,
    OtherUnit(&'static str),
    Not(String),
}

/// Lines that are judged together, and how many misfits among them are too many.
const JUDGED: usize = 12;
const TOO_MANY: usize = 8;

/// A gauge that has sent nothing for so long is silent.
const SILENCE: Duration = Duration::from_secs(5);

/// A vacuum gauge between these shows something that can be.
const DEEPEST: Pressure = Pressure::constant(115e3);
const SHALLOWEST: Pressure = Pressure::constant(-20e3);

impl StreamGauge {
    pub(crate) fn new(stream: impl Read + Send + 'static, format: LineFormat) -> StreamGauge {
        let now = Instant::now();
        let lines = LineStream::of(stream);
        StreamGauge { format, lines, opened: now, last_line: now, recent: VecDeque::new() }
    }

    fn take(&mut self, arrival: Arrival) -> Result<Option<Sample>, GaugeError> {
        let line = arrival.line.map_err(|why| GaugeError::Lost { why })?;
        self.last_line = arrival.at;
        let (fit, sample) = match self.format.read(&line) {
            GaugeLine::Vacuum(vacuum_pa) if (SHALLOWEST..=DEEPEST).contains(&vacuum_pa) => {
                let at_s = arrival.at.saturating_duration_since(self.opened).as_secs_f64();
                (Fit::Well, Some(Sample { line, vacuum_pa, at_s }))
            }
            GaugeLine::OtherUnit(unit) => (Fit::OtherUnit(unit.symbol), None),
            GaugeLine::Vacuum(_) | GaugeLine::Noise => (Fit::Not(line), None),
        };
        if self.recent.len() == JUDGED {
            self.recent.pop_front();
        }
        self.recent.push_back(fit);
        self.trouble().map_or(Ok(sample), Err)
    }

    fn trouble(&self) -> Option<GaugeError> {
        let (mut others, mut misfits) = (Vec::new(), Vec::new());
        for fit in &self.recent {
            match fit {
                Fit::Well => {}
                Fit::OtherUnit(unit) => others.push(*unit),
                Fit::Not(line) => misfits.push(line),
            }
        }
        if others.len() + misfits.len() < TOO_MANY {
            return None;
        }
        match (others.last(), misfits.last()) {
            (Some(found), _) if others.len() >= misfits.len() => {
                Some(GaugeError::WrongUnit { found, wanted: self.format.unit().symbol })
            }
            (_, Some(line)) => Some(GaugeError::Babbling { line: line.chars().take(40).collect() }),
            _ => None,
        }
    }
}

impl Gauge for StreamGauge {
    fn forget(&mut self) {
        // The end of the stream is not forgotten: after it comes nothing but a closed channel, which says the same.
        while self.lines.arrivals().try_recv().is_ok() {}
        self.last_line = Instant::now();
    }

    fn next(&mut self, wait: Duration) -> Result<Option<Sample>, GaugeError> {
        let until = Instant::now() + wait;
        loop {
            let left = until.saturating_duration_since(Instant::now());
            match self.lines.arrivals().recv_timeout(left) {
                Ok(arrival) => {
                    if let Some(sample) = self.take(arrival)? {
                        return Ok(Some(sample));
                    }
                }
                Err(RecvTimeoutError::Disconnected) => {
                    return Err(GaugeError::Lost { why: "the stream has ended".to_owned() });
                }
                Err(RecvTimeoutError::Timeout) => {
                    let seconds = self.last_line.elapsed().as_secs();
                    let is_silent = self.last_line.elapsed() >= SILENCE;
                    return if is_silent { Err(GaugeError::Silent { seconds }) } else { Ok(None) };
                }
            }
        }
    }
}

/// A line as it came, or why none will come any more, and when.
#[derive(Debug)]
struct Arrival {
    pub(super) line: Result<String, String>,
    pub(super) at: Instant,
}

/// A stream cut into lines by a thread of its own, since a read may block for ever.
///
/// The thread never waits for whoever takes the lines: when too many are waiting it drops what comes, so that what
/// comes after they were taken is fresh.
#[derive(Debug)]
struct LineStream {
    arrivals: Receiver<Arrival>,
    /// The thread sees by this that the lines are still wanted.
    _wanted: Arc<()>,
}

/// No gauge line is longer than this many bytes.
const LONGEST: usize = 200;

/// So many lines may wait to be taken.
const WAITING: usize = 1024;

impl LineStream {
    pub(super) fn of(stream: impl Read + Send + 'static) -> LineStream {
        let (sender, arrivals) = sync_channel(WAITING);
        let wanted = Arc::new(());
        let is_wanted = Arc::downgrade(&wanted);
        thread::spawn(move || {
            leave_stops();
            Cutter { sender, is_wanted, line: Vec::new(), is_whole: false }.run(stream);
        });
        LineStream { arrivals, _wanted: wanted }
    }

    fn arrivals(&self) -> &Receiver<Arrival> {
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
