use crate::air::{Law, depth_at, opening_ratio};
use crate::rig::{Condition, Valve};

/// The effective areas of both valves over that of the test orifice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Areas {
    /// The inlet valve's; above 0.
    pub(super) inlet: f64,
    /// The bleed valve's.
    pub(super) bleed: f64,
}

/// How much less than an ideal nozzle the bleed passes away from sonic flow: 0 nothing, 1 as much as a needle valve
/// with a critical ratio of 0.35.
pub(super) type Shortfall = f64;

/// Depths (vacuum over barometer) are kept this far from both ends, where the balance has no answer.
const SHALLOWEST: f64 = 1e-3;
const DEEPEST: f64 = 0.9999;

impl Areas {
    /// Returns the areas that show these depths, plugged and through; `None` where the depth plugged is not the larger.
    ///
    /// A_b h(x_b) = A_i g(x_b) and A_b h(x_o) + 1 = A_i g(x_o), with h the bleed's flow over a nozzle's.
    pub(super) fn of_pair(plugged: f64, through: f64, shortfall: Shortfall) -> Option<Areas> {
        let bleed_per_inlet = opening(plugged) / bleed_share(plugged, shortfall);
        let inlet = 1.0 / (opening(through) - bleed_per_inlet * bleed_share(through, shortfall));
        let areas = Areas { inlet, bleed: inlet * bleed_per_inlet };
        (inlet > 0.0 && inlet.is_finite()).then_some(areas)
    }

    /// Returns the depth that these areas show in a condition.
    pub(super) fn depth(&self, condition: Condition, shortfall: Shortfall) -> f64 {
        let ratio_at =
            |depth: f64| (self.bleed * bleed_share(depth, shortfall) + load(condition)) / self.inlet;
        // The bleed's share hardly changes with the depth: a few rounds settle it.
        let start = depth_at(ratio_at(0.5)).unwrap_or(DEEPEST);
        (0..6).fold(start, |depth, _| depth_at(ratio_at(depth)).unwrap_or(DEEPEST)).clamp(SHALLOWEST, DEEPEST)
    }

    /// Returns the areas after one valve was turned to where a condition shows this depth.
    pub(super) fn after(
        &self,
        valve: Valve,
        condition: Condition,
        depth: f64,
        shortfall: Shortfall,
    ) -> Areas {
        let (opening, share) = (opening(depth), bleed_share(depth, shortfall));
        match valve {
            Valve::Inlet => {
                Areas { inlet: (self.bleed.max(0.0) * share + load(condition)) / opening, ..*self }
            }
            Valve::Bleed => {
                Areas { bleed: ((self.inlet * opening - load(condition)) / share).max(0.0), ..*self }
            }
        }
    }

    /// Returns these areas with one valve's taken from others.
    pub(super) fn with(&self, valve: Valve, from: Areas) -> Areas {
        match valve {
            Valve::Inlet => Areas { inlet: from.inlet, ..*self },
            Valve::Bleed => Areas { bleed: from.bleed, ..*self },
        }
    }

    /// Returns these areas with one valve opened by a share more.
    pub(super) fn opened(&self, valve: Valve, share: f64) -> Areas {
        match valve {
            Valve::Inlet => Areas { inlet: self.inlet * (1.0 + share), ..*self },
            Valve::Bleed => Areas { bleed: self.bleed * (1.0 + share), ..*self },
        }
    }

    /// Returns one valve's area.
    pub(super) fn of(&self, valve: Valve) -> f64 {
        match valve {
            Valve::Inlet => self.inlet,
            Valve::Bleed => self.bleed,
        }
    }
}

/// What the hose end lets in beside the bleed, in test orifices.
fn load(condition: Condition) -> f64 {
    if condition == Condition::Through { 1.0 } else { 0.0 }
}

fn opening(depth: f64) -> f64 {
    opening_ratio(depth.clamp(SHALLOWEST, DEEPEST)).unwrap_or(1.0)
}

/// The flow of the bleed over that of an ideal nozzle of its sonic area.
fn bleed_share(depth: f64, shortfall: Shortfall) -> f64 {
    if shortfall == 0.0 {
        return 1.0;
    }
    let ratio = 1.0 - depth.clamp(SHALLOWEST, DEEPEST);
    let share = Law::Valve { critical_ratio: 0.35 }.flow(ratio) / Law::Nozzle.flow(ratio);
    1.0 + shortfall * (share - 1.0)
}
