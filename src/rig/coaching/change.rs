use super::Goal;
use super::sight::Sight;
use crate::air::opening_ratio;
use crate::quantity::{Length, Pressure};
use crate::rig::Calibration;

/// What made a rig read differently since its last calibration, though nobody turned a valve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Change {
    /// Only the reading through the orifice has changed.
    Orifice {
        /// The bore of the hole that the orifice flows like.
        flows_like: Length,
        /// The bore on record.
        expected: Length,
    },
    /// The plugged reading has fallen, alone or by more than the other: more air comes in than before.
    MoreAirIn,
    /// Both have fallen, the one through the orifice by more: less air goes out than before.
    LessAirOut,
}

/// Above this ratio of the plugged reading's fall to the other's, more air comes in; below, less goes out.
///
/// At the usual points an added leak makes the plugged reading fall 3.5 times as far as the other, a closing inlet
/// valve half as far; this is the geometric mean of the two.
const DIVIDE: f64 = 1.3;

impl Change {
    /// Compares a pair of readings with the last calibration; `None` where nothing has changed that valves would not
    /// explain as well.
    pub(super) fn since(
        last: &Calibration,
        goal: &Goal,
        sight: &Sight,
        plugged: Pressure,
        through: Pressure,
    ) -> Option<Change> {
        let scale = goal.barometer().si() / last.barometer().si();
        let fall = |before: Pressure, now: Pressure| before.si() * scale - now.si();
        let plugged_fall = fall(last.plugged(), plugged);
        let through_fall = fall(last.through(), through);
        let notable = sight.notable_change_pa();
        match (plugged_fall > notable, through_fall > notable) {
            (true, true) if plugged_fall < DIVIDE * through_fall => Some(Change::LessAirOut),
            (true, _) if through_fall > -notable => Some(Change::MoreAirIn),
            (false, _) if through_fall.abs() > notable && plugged_fall.abs() <= notable => {
                let opening = |vacuum: Pressure| opening_ratio(goal.depth(vacuum));
                let flow = opening(through)? * last.inlet_relative() - last.bleed_relative();
                let bore = last.hole(flow.max(0.0));
                Some(Change::Orifice {
                    flows_like: Length::from_si(bore)?,
                    expected: last.orifice().diameter(),
                })
            }
            _ => None,
        }
    }
}
