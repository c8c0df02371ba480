use serde::{Deserialize, Serialize};

use super::Chance;
use crate::rig::Dial;

/// The dial of a simulated rig, and the eye that reads it. Pressures are in Pa of vacuum.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SimulatedDial {
    /// What is printed on it.
    pub dial: Dial,
    /// The share of what the grade allows that a dial's error may reach; each rig draws its own. 0 makes a perfect one.
    pub error_share: f64,
    /// How far the needle hangs behind, as a share of a division.
    pub hysteresis: f64,
    /// How far the needle trembles to either side, as a share of a division.
    pub jitter: f64,
    /// How far off the eye is at most, as a share of a division.
    pub reading_error: f64,
    /// To which share of a division a reading is written down; above zero.
    pub written_to: f64,
}

/// The movement behind the dial: its own error, and where the needle stands.
#[derive(Debug, Clone)]
pub(super) struct Needle {
    offset_pa: f64,
    gain: f64,
    at_pa: f64,
    is_stuck: bool,
}

impl Needle {
    /// Draws a movement whose offset and gain stay within what the grade leaves to each.
    pub(super) fn draw(dial: &SimulatedDial, chance: &mut Chance) -> Needle {
        let offset_pa = chance.within(dial.error_share * dial.dial.offset_limit());
        let gain = 1.0 + chance.within(dial.error_share * dial.dial.gain_limit());
        Needle { offset_pa, gain, at_pa: offset_pa, is_stuck: false }
    }

    /// Returns where the needle comes to stand for a true vacuum, from where it is now.
    pub(super) fn would_show(&self, dial: &SimulatedDial, vacuum_pa: f64) -> f64 {
        if self.is_stuck {
            return self.at_pa;
        }
        // A dial goes a little past its last mark, and less far below zero.
        let span = dial.dial.span().si();
        let driven = (self.gain * vacuum_pa + self.offset_pa).clamp(-0.02 * span, 1.02 * span);
        let slack = dial.hysteresis * dial.division_pa();
        self.at_pa.clamp(driven - slack, driven + slack)
    }

    /// Returns where the needle stands, in Pa.
    pub(super) fn stands_at(&self) -> f64 {
        self.at_pa
    }

    /// Lets the needle follow.
    pub(super) fn follow(&mut self, dial: &SimulatedDial, vacuum_pa: f64) {
        self.at_pa = self.would_show(dial, vacuum_pa);
    }

    /// Makes the needle stay where it is, or lets it go.
    pub(super) fn stick(&mut self, is_stuck: bool) {
        self.is_stuck = is_stuck;
    }
}

impl SimulatedDial {
    /// The vacuum from mark to mark, in Pa.
    pub(super) fn division_pa(&self) -> f64 {
        self.dial.smallest_division().si()
    }

    /// Returns how far off the eye is this time, needle's trembling included, in Pa.
    pub(super) fn misreading(&self, chance: &mut Chance) -> f64 {
        (chance.within(self.reading_error) + chance.within(self.jitter)) * self.division_pa()
    }

    /// Returns what is written down for what is seen.
    pub(super) fn written(&self, seen_pa: f64) -> f64 {
        let step = self.written_to * self.division_pa();
        (seen_pa / step).round() * step
    }
}
