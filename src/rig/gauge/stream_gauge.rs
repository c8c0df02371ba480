use std::collections::VecDeque;
use std::io::Read;
use std::sync::mpsc::RecvTimeoutError;
use std::time::{Duration, Instant};

use super::lines::{Arrival, Lines};
use super::{Gauge, GaugeError, Line, LineFormat, Sample};
use crate::quantity::Pressure;

/// A gauge that sends a line for each sample.
///
/// Lines that do not fit the format are passed over while most do. What stands in the stream before the first end of a
/// line may be the rest of a line, and is passed over too.
#[derive(Debug)]
pub struct StreamGauge {
    format: LineFormat,
    lines: Lines,
    opened: Instant,
    last_line: Instant,
    recent: VecDeque<Fit>,
}

/// How a line fitted.
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
    /// Starts to read a stream of lines.
    pub fn new(stream: impl Read + Send + 'static, format: LineFormat) -> StreamGauge {
        let now = Instant::now();
        let lines = Lines::of(stream);
        StreamGauge { format, lines, opened: now, last_line: now, recent: VecDeque::new() }
    }

    fn take(&mut self, arrival: Arrival) -> Result<Option<Sample>, GaugeError> {
        let line = arrival.line.map_err(|why| GaugeError::Lost { why })?;
        self.last_line = arrival.at;
        let (fit, sample) = match self.format.read(&line) {
            Line::Vacuum(vacuum_pa) if (SHALLOWEST..=DEEPEST).contains(&vacuum_pa) => {
                let at_s = arrival.at.saturating_duration_since(self.opened).as_secs_f64();
                (Fit::Well, Some(Sample { line, vacuum_pa, at_s }))
            }
            Line::OtherUnit(unit) => (Fit::OtherUnit(unit.symbol), None),
            Line::Vacuum(_) | Line::Noise => (Fit::Not(line), None),
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
