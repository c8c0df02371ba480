use std::path::PathBuf;

use clap::Args;

use super::status::Failure;
use crate::rig::Dial;
use crate::rig::gauge::{GaugeSource, LineFormat, StreamGauge};
use crate::session::Needle;

/// A gauge that reads itself.
#[derive(Debug, Args)]
pub(super) struct GaugeArguments {
    /// Read a gauge that sends lines: a serial port, a pipe or a file; it offers its value when it has settled
    #[arg(long, value_name = "PORT")]
    gauge: Option<PathBuf>,
    /// How its lines look, with {} where the number stands
    #[arg(long, value_name = "LINE", default_value = "{}", requires = "gauge")]
    gauge_line: String,
    /// The unit of its numbers
    #[arg(long, value_name = "UNIT", default_value = "inHg", requires = "gauge")]
    gauge_unit: String,
    /// It prints a vacuum as a negative pressure
    #[arg(long, requires = "gauge")]
    gauge_negative: bool,
    /// Speed of a serial port; anything else is read as it is
    #[arg(long, value_name = "BAUD", requires = "gauge")]
    baud: Option<u32>,
}

impl GaugeArguments {
    /// Opens the gauge, where one is named.
    pub(super) fn open(self, dial: Dial) -> Result<Option<Needle>, Failure> {
        let Some(place) = self.gauge else { return Ok(None) };
        let format = LineFormat::new(&self.gauge_line, &self.gauge_unit).map_err(Failure::wrong)?;
        let format = if self.gauge_negative { format.with_negative_vacuum() } else { format };
        let source = match self.baud {
            Some(baud) => GaugeSource::Serial { port: place, baud },
            None => GaugeSource::Stream(place),
        };
        let stream = source.open().map_err(Failure::wrong)?;
        Ok(Some(Needle::new(Box::new(StreamGauge::new(stream, format)), dial.smallest_division())))
    }
}
