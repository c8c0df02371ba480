//! Gauges that read themselves: any stream of lines, from a serial port, a pseudo-terminal, a pipe or a file.
//!
//! A gauge only ever offers a value; a person takes it or types another. Whatever goes wrong with it is an error that
//! says what to do, and typing goes on.

#[expect(clippy::module_inception, reason = "one noun a file: the gauge itself")]
mod gauge;
mod gauge_error;
mod line_format;
mod lines;
mod sample;
mod settling;
mod source;
mod stream_gauge;
mod watch;

pub use gauge::Gauge;
pub use gauge_error::GaugeError;
pub use line_format::{FormatError, Line, LineFormat};
pub use sample::Sample;
pub use settling::{Settled, Settling};
pub use source::Source;
pub use stream_gauge::StreamGauge;
pub use watch::watch;
