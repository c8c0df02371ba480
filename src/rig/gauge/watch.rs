use std::collections::VecDeque;
use std::ops::ControlFlow;
use std::time::Duration;

use super::{Gauge, GaugeError, Sample, Settled, Settling};

/// Waits until a gauge has settled, `patience_s` at most, and shows every sample on the way.
///
/// What the gauge sent before does not count.
///
/// `show` is called with each sample, and with `None` whenever none came for a tenth of a second; it may end the watch
/// by [`ControlFlow::Break`], in which case there is no value. Time is the samples' own.
pub fn watch(
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
