use std::ops::ControlFlow;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Duration;

use super::{Prompt, screens};
use crate::console::{leave_stops, take_interrupt};
use crate::page::{Board, SaidKind};
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
    /// Whether what is wrong with it was said.
    is_in_trouble: bool,
    /// Whether what it offered last is not taken any more.
    is_withdrawn: Arc<AtomicBool>,
}

/// A settled value, as it would be typed, and the samples behind it.
pub(super) struct Offer {
    pub(super) text: String,
    pub(super) samples: Vec<Sample>,
    is_withdrawn: Arc<AtomicBool>,
}

impl Offer {
    /// Says why it is not taken, where its gauge has gone since, fell silent or sent what can't be read: nothing shows whether
    /// the needle is still there.
    pub(super) fn withdrawn(&self) -> Option<String> {
        self.is_withdrawn.load(Ordering::Relaxed).then(|| {
            format!("Since the gauge offered {}, it could not be read. Type what the dial shows.", self.text)
        })
    }
}

impl Needle {
    /// Takes a gauge; what counts as settled depends on the dial's smallest division.
    pub(crate) fn new(gauge: Box<dyn Gauge + Send>, division: Pressure) -> Needle {
        Needle {
            gauge: Some(gauge),
            settling: Settling::usual(division),
            last: None,
            is_in_trouble: false,
            is_withdrawn: Arc::default(),
        }
    }

    /// Shows the needle until it has settled, and offers its value. Ctrl-C leaves the watch, and so does an answer on
    /// the page; so does a gauge in trouble, whose trouble is shown, and one that has gone is not asked again. Typing
    /// goes on in every case.
    pub(super) fn offer(&mut self, prompt: &mut Prompt, unit: &'static Unit) -> Option<Offer> {
        let gauge = self.gauge.as_deref_mut()?;
        let has_moved = |vacuum: Pressure| {
            self.last.is_none_or(|last| (vacuum.si() - last.si()).abs() > self.settling.band_pa.si())
        };
        let mut n_watched = 0;
        let mut newest = None;
        let watched = loop {
            n_watched += 1;
            let watched = watch(gauge, &self.settling, PATIENCE_S, |sample| {
                // Between two samples of a slow gauge the needle stays where it was.
                newest = sample.map(|sample| sample.vacuum_pa).or(newest);
                prompt.screen.replace_line(&screens::needle(newest, unit));
                let is_answered = prompt.page().is_some_and(|page| {
                    page.needle(newest.map(|vacuum| unit.from_si(vacuum.si())));
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
        self.is_in_trouble = watched.is_err();
        match watched {
            Ok(settled) => settled.map(|settled| {
                self.last = Some(settled.vacuum_pa);
                self.is_withdrawn = Arc::default();
                let text = settled.vacuum_pa.in_unit(unit);
                Offer { text, samples: settled.samples, is_withdrawn: Arc::clone(&self.is_withdrawn) }
            }),
            Err(error) => {
                prompt.screen.paragraph(screens::INDENT, &error.to_string());
                if let Some(page) = prompt.page() {
                    page.needle(None);
                }
                if is_gone(&error) {
                    self.gauge = None;
                }
                None
            }
        }
    }

    /// Lets the page see the needle move while somebody answers. What goes wrong with the gauge meanwhile is said at
    /// once, and one that has gone is not asked again.
    pub(super) fn seen_while<T>(
        needle: Option<&mut Needle>,
        page: Option<&Board>,
        unit: Option<&'static Unit>,
        answer: impl FnOnce() -> T,
    ) -> T {
        let (Some(needle), Some(page), Some(unit)) = (needle, page, unit) else { return answer() };
        let Some(gauge) = needle.gauge.as_deref_mut() else { return answer() };
        let (is_wanted, has_gone) = (AtomicBool::new(true), AtomicBool::new(false));
        let (is_in_trouble, is_withdrawn) = (&mut needle.is_in_trouble, &*needle.is_withdrawn);
        let answered = thread::scope(|scope| {
            let _over = Over(&is_wanted);
            scope.spawn(|| {
                leave_stops();
                while is_wanted.load(Ordering::Relaxed) && !has_gone.load(Ordering::Relaxed) {
                    let looked = look(gauge, page, unit, is_in_trouble, is_withdrawn);
                    has_gone.store(looked.is_err_and(|error| is_gone(&error)), Ordering::Relaxed);
                }
            });
            answer()
        });
        if has_gone.into_inner() {
            needle.gauge = None;
        }
        answered
    }
}

/// Shows the needle on a page once. Where it can't be read, that is said once, and what it offered is withdrawn.
fn look(
    gauge: &mut dyn Gauge,
    page: &Board,
    unit: &Unit,
    is_in_trouble: &mut bool,
    is_withdrawn: &AtomicBool,
) -> Result<(), GaugeError> {
    let error = match gauge.next(LOOK) {
        Ok(None) => return Ok(()),
        Ok(Some(sample)) => {
            page.needle(Some(unit.from_si(sample.vacuum_pa.si())));
            *is_in_trouble = false;
            return Ok(());
        }
        Err(error) => error,
    };
    is_withdrawn.store(true, Ordering::Relaxed);
    page.needle(None);
    let mut had_offer = false;
    page.amend(|ask| had_offer = ask.enter.take().is_some());
    if !std::mem::replace(is_in_trouble, true) || had_offer {
        let offer = if had_offer { ". What it offered is not taken any more." } else { "" };
        let told = format!("{error}{offer}");
        page.say(SaidKind::Told, &told);
        page.notice(told);
    }
    Err(error)
}

fn is_gone(error: &GaugeError) -> bool {
    matches!(error, GaugeError::Lost { .. } | GaugeError::Unopened { .. })
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
