use std::ops::ControlFlow;

use super::screens;
use crate::console::{Screen, take_interrupt};
use crate::quantity::{Pressure, Unit};
use crate::rig::gauge::{Gauge, GaugeError, Sample, Settling, watch};

/// How long a needle may take to settle before typing takes over, in seconds.
const PATIENCE_S: f64 = 60.0;

/// How often a needle that stands where it stood at the last reading is watched anew: the hose may still be on its way.
const TIMES_WAITED: usize = 3;

/// A gauge that reads itself, at a person's prompt: it offers a value, which the person takes or not.
pub struct Needle {
    gauge: Option<Box<dyn Gauge>>,
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
    pub fn new(gauge: Box<dyn Gauge>, division: Pressure) -> Needle {
        Needle { gauge: Some(gauge), settling: Settling::usual(division), last: None }
    }

    /// Shows the needle until it has settled, and offers its value. Ctrl-C leaves the watch; so does a gauge in trouble,
    /// whose trouble is shown, and one that has gone is not asked again. Typing goes on in every case.
    pub(super) fn offer(&mut self, screen: &mut Screen, unit: &'static Unit) -> Option<Offer> {
        let gauge = self.gauge.as_deref_mut()?;
        let has_moved = |vacuum: Pressure| {
            self.last.is_none_or(|last| (vacuum.si() - last.si()).abs() > self.settling.band_pa.si())
        };
        let mut n_watched = 0;
        let watched = loop {
            n_watched += 1;
            let watched = watch(gauge, &self.settling, PATIENCE_S, |sample| {
                screen.replace_line(&screens::needle(sample.map(|sample| sample.vacuum_pa), unit));
                if take_interrupt() { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
            });
            match &watched {
                Ok(Some(settled)) if !has_moved(settled.vacuum_pa) && n_watched < TIMES_WAITED => {}
                _ => break watched,
            }
        };
        screen.replace_line("");
        match watched {
            Ok(settled) => settled.map(|settled| {
                self.last = Some(settled.vacuum_pa);
                Offer { text: settled.vacuum_pa.in_unit(unit), samples: settled.samples }
            }),
            Err(error) => {
                screen.paragraph(screens::INDENT, &error.to_string());
                if matches!(error, GaugeError::Lost { .. } | GaugeError::Unopened { .. }) {
                    self.gauge = None;
                }
                None
            }
        }
    }
}
