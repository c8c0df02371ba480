//! Gauges that read themselves: any stream of lines, from a serial port, a pseudo-terminal, a pipe or a file.
//!
//! A gauge only ever offers a value; a person takes it or types another. Whatever goes wrong with it is an error that
//! says what to do, and typing goes on.

mod line_format;
mod settling;
mod stream;

pub(crate) use line_format::{GaugeLine, LineFormat};
#[cfg(test)]
pub(crate) use settling::Settled;
pub(crate) use settling::{Settling, watch};
pub(crate) use stream::{Gauge, GaugeError, GaugeSource, Sample, StreamGauge};
