use std::collections::VecDeque;
use std::ops::ControlFlow;
use std::time::Duration;

use super::{Gauge, GaugeError, Sample};
use crate::quantity::Pressure;
use crate::stats::mean;

/// When a needle counts as settled: for a while all its values lie in a narrow band, and they have
/// stopped going one way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Settling {
    /// For how long, in s; above 0.
    pub for_s: f64,
    /// The width of the band; above 0.
    pub band_pa: Pressure,
}

/// A settled needle: its value, and the samples behind it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Settled {
    /// The median of the newer half of the samples.
    pub vacuum_pa: Pressure,
    pub samples: Vec<Sample>,
}

/// Fewer samples than these say nothing.
const FEWEST: usize = 5;

impl Settling {
    /// Returns the usual: three seconds within half a division of a dial.
    pub(crate) fn usual(division: Pressure) -> Settling {
        Settling { for_s: 3.0, band_pa: Pressure::constant(0.5 * division.si()) }
    }

    /// Drops the samples that are too old to matter.
    pub(super) fn trim(&self, samples: &mut VecDeque<Sample>) {
        let Some(newest) = samples.back().map(|sample| sample.at_s) else {
            return;
        };
        // One sample at the far end of the window is kept, so that the rest span it.
        let is_spare = |second: &Sample| newest - second.at_s >= self.for_s;
        while samples.len() > FEWEST && samples.get(1).is_some_and(is_spare) {
            samples.pop_front();
        }
    }

    /// Returns the settled needle where these samples, oldest first, show one.
    ///
    /// A single value out of line (a lost digit, a glitch) is passed over: values are compared after a running median
    /// of three. The second half may differ from the first by an eighth of the band: an approach whose time constant is
    /// the whole while would go on by about as much.
    pub(crate) fn judge(&self, samples: &[Sample]) -> Option<Settled> {
        let (first, last) = (samples.first()?, samples.last()?);
        if last.at_s - first.at_s < self.for_s || samples.len() < FEWEST {
            return None;
        }
        let values: Vec<f64> = samples.iter().map(|sample| sample.vacuum_pa.si()).collect();
        let smooth: Vec<f64> = values.windows(3).map(|three| median(three.to_vec())).collect();
        let (low, high) =
            smooth.iter().fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(*v), high.max(*v)));
        let (before, after) = smooth.split_at(smooth.len() / 2);
        let trend = mean(after) - mean(before);
        let settled = high - low <= self.band_pa.si() && trend.abs() <= 0.125 * self.band_pa.si();
        let newer = values[values.len() / 2..].to_vec();
        let vacuum_pa = Pressure::from_si(median(newer))?;
        settled.then(|| Settled { vacuum_pa, samples: samples.to_vec() })
    }
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    if values.len().is_multiple_of(2) { 0.5 * (values[middle - 1] + values[middle]) } else { values[middle] }
}

/// Waits until a gauge has settled, `patience_s` at most, and shows every sample on the way.
///
/// What the gauge sent before does not count.
///
/// `show` is called with each sample, and with `None` whenever none came for a tenth of a second; it may end the watch
/// by [`ControlFlow::Break`], in which case there is no value. Time is the samples' own.
pub(crate) fn watch(
    gauge: &mut dyn Gauge,
    settling: &Settling,
    patience_s: f64,
    mut show: impl FnMut(Option<&Sample>) -> ControlFlow<()>,
) -> Result<Option<Settled>, GaugeError> {
    const GLANCE: Duration = Duration::from_millis(100);
    let mut samples = VecDeque::new();
    let mut began = None;
    gauge.forget();
    loop {
        let sample = gauge.next(GLANCE)?;
        if show(sample.as_ref()).is_break() {
            return Ok(None);
        }
        let Some(sample) = sample else {
            continue;
        };
        let waited = sample.at_s - *began.get_or_insert(sample.at_s);
        samples.push_back(sample);
        settling.trim(&mut samples);
        if let Some(settled) = settling.judge(samples.make_contiguous()) {
            return Ok(Some(settled));
        }
        if waited > patience_s {
            return Err(GaugeError::Restless { seconds: waited as u64 });
        }
    }
}
