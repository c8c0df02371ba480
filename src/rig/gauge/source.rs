use std::fs::File;
use std::io::{BufRead, BufReader, ErrorKind, Read};
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::Duration;

use super::GaugeError;

/// Where a gauge's lines come from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Source {
    /// A serial port, at this speed in baud.
    Serial {
        /// Its name, as `/dev/ttyUSB0` or `COM3`.
        port: PathBuf,
        /// Its speed.
        baud: u32,
    },
    /// Anything else that can be opened and read. A plain file is played from its beginning at ten lines a second, and
    /// what is appended to it follows.
    Stream(PathBuf),
}

/// How long a read of a serial port waits before it looks again.
const PATIENCE: Duration = Duration::from_millis(200);

/// The time between two lines of a plain file.
const PACE: Duration = Duration::from_millis(100);

impl Source {
    /// Opens it. A pipe that nobody writes to yet keeps this waiting.
    pub fn open(&self) -> Result<Box<dyn Read + Send>, GaugeError> {
        match self {
            Source::Serial { port, baud } => {
                let fail = |error| unopened(port, &error);
                let mut serial = serial2::SerialPort::open(port, *baud).map_err(fail)?;
                serial.set_read_timeout(PATIENCE).map_err(fail)?;
                Ok(Box::new(serial))
            }
            Source::Stream(path) => {
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
            sleep(PACE);
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
