use serde::{Deserialize, Serialize};

use super::Observation;
use crate::quantity::Pressure;
use crate::rig::{Condition, Turn, Valve};

/// One thing to do with a valve: with the hose so, turn it this way until the gauge shows that.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Setting {
    /// What the hose is connected to.
    pub condition: Condition,
    /// The valve.
    pub valve: Valve,
    /// Which way.
    pub turn: Turn,
    /// The reading to stop at.
    pub set_to_pa: Pressure,
}

impl Setting {
    /// Turns the valve the way that the mark now lies, where it has just been turned and the needle stands elsewhere: a
    /// valve may have been turned too far.
    pub(super) fn follow(&mut self, seen: &Observation) {
        let is_this = seen.condition == self.condition
            && seen.moved.is_some_and(|moved| moved.valve == self.valve && moved.stop.is_none());
        if is_this && seen.reading != self.set_to_pa {
            // The inlet valve draws the needle up, the bleed valve lets it down.
            let is_up = seen.reading < self.set_to_pa;
            self.turn = if is_up == (self.valve == Valve::Inlet) { Turn::Open } else { Turn::Close };
        }
    }
}
