use std::ops::ControlFlow;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Duration;

use super::{Prompt, screens};
use crate::console::take_interrupt;
use crate::page::Board;
use crate::quantity::{Pressure, Unit};
use crate::rig::gauge::{Gauge, GaugeError, Sample, Settling, watch};

/// How long a needle may take to settle before typing takes over, in seconds.
const PATIENCE_S: f64 = 60.0;

/// How often a needle that stands where it stood at the last reading is watched anew: the hose may still be on its way.
const TIMES_WAITED: usize = 3;

/// A gauge that reads itself, at a person's prompt: it offers a value, which the person takes or not.
pub(crate) struct Needle {
    gauge: Option<Box<dyn Gauge + Send>>,
    settling: Settling,
    /// What it offered last.
    last: Option<Pressure>,
}

/// A settled value, as it would be typed, and the samples behind it.
pub(super) struct Offer {
    pub(super) text: String,
    pub(super) samples: Vec<Sample>,
}

impl Needle {
    /// Takes a gauge; what counts as settled depends on the dial's smallest division.
    pub(crate) fn new(gauge: Box<dyn Gauge + Send>, division: Pressure) -> Needle {
        Needle { gauge: Some(gauge), settling: Settling::usual(division), last: None }
    }

    /// Shows the needle until it has settled, and offers its value. Ctrl-C leaves the watch, and so does an answer on the page; so does a gauge in trouble,
    /// whose trouble is shown, and one that has gone is not asked again. Typing goes on in every case.
    pub(super) fn offer(&mut self, prompt: &mut Prompt, unit: &'static Unit) -> Option<Offer> {
        let gauge = self.gauge.as_deref_mut()?;
        let has_moved = |vacuum: Pressure| {
            self.last.is_none_or(|last| (vacuum.si() - last.si()).abs() > self.settling.band_pa.si())
        };
        let mut n_watched = 0;
        let watched = loop {
            n_watched += 1;
            let watched = watch(gauge, &self.settling, PATIENCE_S, |sample| {
                let vacuum = sample.map(|sample| sample.vacuum_pa);
                prompt.screen.replace_line(&screens::needle(vacuum, unit));
                let is_answered = prompt.page().is_some_and(|page| {
                    page.needle(vacuum.map(|vacuum| unit.from_si(vacuum.si())));
                    page.has_line()
                });
                if is_answered || take_interrupt() {
                    ControlFlow::Break(())
                } else {
                    ControlFlow::Continue(())
                }
            });
            match &watched {
                Ok(Some(settled)) if !has_moved(settled.vacuum_pa) && n_watched < TIMES_WAITED => {}
                _ => break watched,
            }
        };
        prompt.screen.replace_line("");
        match watched {
            Ok(settled) => settled.map(|settled| {
                self.last = Some(settled.vacuum_pa);
                Offer { text: settled.vacuum_pa.in_unit(unit), samples: settled.samples }
            }),
            Err(error) => {
                prompt.screen.paragraph(screens::INDENT, &error.to_string());
                if matches!(error, GaugeError::Lost { .. } | GaugeError::Unopened { .. }) {
                    self.gauge = None;
                }
                None
            }
        }
    }

    /// Lets the page see the needle move while somebody answers.
    pub(super) fn seen_while<T>(
        needle: Option<&mut Needle>,
        page: Option<&Board>,
        unit: Option<&'static Unit>,
        answer: impl FnOnce() -> T,
    ) -> T {
        let gauge = needle.and_then(|needle| needle.gauge.as_deref_mut());
        let (Some(gauge), Some(page), Some(unit)) = (gauge, page, unit) else { return answer() };
        let is_wanted = AtomicBool::new(true);
        thread::scope(|scope| {
            let _over = Over(&is_wanted);
            scope.spawn(|| {
                while is_wanted.load(Ordering::Relaxed) {
                    match gauge.next(LOOK) {
                        Ok(Some(sample)) => page.needle(Some(unit.from_si(sample.vacuum_pa.si()))),
                        Ok(None) => {}
                        // What is wrong with it is said when it is watched.
                        Err(_) => return page.needle(None),
                    }
                }
            });
            answer()
        })
    }
}

/// How long the gauge is waited for before it is looked whether it is still wanted.
const LOOK: Duration = Duration::from_millis(100);

/// Says that a gauge is wanted no longer, however that comes about.
struct Over<'a>(&'a AtomicBool);

impl Drop for Over<'_> {
    fn drop(&mut self) {
        self.0.store(false, Ordering::Relaxed);
    }
}
