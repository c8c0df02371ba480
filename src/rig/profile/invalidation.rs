use std::fmt;

use super::Profile;
use crate::rig::Calibration;
use crate::rig::pump::{PumpCheck, RelativePump};

/// A part of a rig that its calibration rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// The gauge.
    Gauge,
    /// The test orifice.
    Orifice,
    /// The hose and its fittings.
    Hose,
    /// The pump.
    Pump,
}

/// The end of a calibration: parts of the rig are others than those it was made with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Invalidation {
    /// The parts; never empty.
    pub parts: Vec<Part>,
}

impl Invalidation {
    /// Compares the rig that a calibration was made with and the one there is now; `None` where it still holds.
    ///
    /// Learning something about a part (a rating that was unknown) is no change of it. Another pump does not matter
    /// where the inlet valve is known to be sonic with either.
    pub fn between(then: &Profile, now: &Profile, calibration: &Calibration) -> Option<Invalidation> {
        let is_sonic = |profile: &Profile| {
            let pump = profile.pump.pump().and_then(|pump| RelativePump::of(&pump, calibration));
            matches!(PumpCheck::of(calibration, pump.as_ref()), PumpCheck::Sonic { .. })
        };
        let other_hose = differ(&then.hose.description, &now.hose.description)
            || differ(&then.hose.vacuum_rating_pa, &now.hose.vacuum_rating_pa)
            || differ(&then.hose.pressure_rating_pa, &now.hose.pressure_rating_pa);
        let other_pump = differ(&then.pump.description, &now.pump.description)
            || differ(&then.pump.speed_m3_s, &now.pump.speed_m3_s)
            || differ(&then.pump.ultimate_pa, &now.pump.ultimate_pa);
        let changes = [
            (Part::Gauge, then.dial != now.dial),
            (Part::Orifice, then.orifice != now.orifice),
            (Part::Hose, other_hose),
            (Part::Pump, other_pump && !(is_sonic(then) && is_sonic(now))),
        ];
        let parts: Vec<_> =
            changes.into_iter().filter_map(|(part, changed)| changed.then_some(part)).collect();
        (!parts.is_empty()).then_some(Invalidation { parts })
    }
}

fn differ<T: PartialEq>(then: &Option<T>, now: &Option<T>) -> bool {
    matches!((then, now), (Some(then), Some(now)) if then != now)
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Part::Gauge => "gauge",
            Part::Orifice => "orifice",
            Part::Hose => "hose",
            Part::Pump => "pump",
        })
    }
}

impl fmt::Display for Invalidation {
    /// Writes what was changed and what to do, in whole sentences.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let names: Vec<_> = self.parts.iter().map(|part| format!("the {part}")).collect();
        let list = match names.split_last() {
            Some((last, [])) => last.clone(),
            Some((last, others)) => format!("{} and {last}", others.join(", ")),
            None => String::new(),
        };
        write!(
            f,
            "The calibration was made with another rig: {list} {} changed since. Calibrate before the next reading.",
            if names.len() == 1 { "has" } else { "have" }
        )
    }
}
