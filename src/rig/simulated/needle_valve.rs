use serde::{Deserialize, Serialize};

use crate::air::Law;

/// A needle valve: how far it is open decides its effective area.
///
/// The area grows with the square of the opening, fine near the seat and coarse near the stop. The curve is invented;
/// nothing that is inferred from readings depends on it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NeedleValve {
    /// Turns from the seat to the outer stop; above zero.
    pub turns: f64,
    /// Effective area at the outer stop in m2; above zero.
    pub area_m2: f64,
    /// Critical pressure ratio of ISO 6358, 0 to 0.6; without one the valve is an ideal nozzle.
    pub critical_ratio: Option<f64>,
    /// The smallest turn that a hand makes on purpose; above zero.
    pub finest_turn: f64,
}

impl NeedleValve {
    /// Returns the effective area in m2 at a position; a position outside the stops counts as the stop.
    pub fn area_at(&self, position: f64) -> f64 {
        let opening = (position / self.turns).clamp(0.0, 1.0);
        self.area_m2 * opening * opening
    }

    /// Returns the position nearest to this one that a hand finds, between the stops.
    pub fn reachable(&self, position: f64) -> f64 {
        ((position / self.finest_turn).round() * self.finest_turn).clamp(0.0, self.turns)
    }

    /// Returns how it passes air.
    pub fn law(&self) -> Law {
        match self.critical_ratio {
            Some(critical_ratio) => Law::Valve { critical_ratio },
            None => Law::Nozzle,
        }
    }
}
