use super::root::root;
use crate::air::{CRITICAL_FLOW, Law};

/// The way out of the circuit: the inlet valve with the pump behind it.
///
/// Pressures are fractions of the barometer's; areas and flows share any one unit of area: a flow is mass flow times
/// sqrt(R T) over the barometer's pressure, and a pump's speed is volume flow over sqrt(R T).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WayOut {
    /// Effective area of the inlet valve.
    pub inlet: f64,
    /// How the inlet valve passes air.
    pub law: Law,
    /// The pump's speed.
    pub speed: f64,
    /// The least pressure that the pump reaches.
    pub ultimate: f64,
}

impl WayOut {
    /// Returns the pressure between the inlet valve and the pump while the circuit is at `gauge`.
    ///
    /// The pump moves `speed * (y - ultimate)` at its own pressure y, which is what the valve passes.
    pub fn pump_side(&self, gauge: f64) -> f64 {
        if gauge <= self.ultimate {
            return gauge;
        }
        let sonic = self.ultimate + self.inlet * gauge * CRITICAL_FLOW / self.speed;
        if sonic <= self.law.critical_ratio() * gauge {
            return sonic;
        }
        let low = (self.law.critical_ratio() * gauge).max(self.ultimate);
        root(low, gauge, |pump| {
            self.inlet * gauge * self.law.flow(pump / gauge) - self.speed * (pump - self.ultimate)
        })
    }

    /// Returns the flow drawn out of a circuit at this pressure; none below the pump's ultimate.
    pub fn draws(&self, gauge: f64) -> f64 {
        self.speed * (self.pump_side(gauge) - self.ultimate).max(0.0)
    }

    /// Returns whether the inlet valve is sonic while the circuit is at `gauge`.
    pub fn is_sonic(&self, gauge: f64) -> bool {
        gauge > self.ultimate && self.pump_side(gauge) <= self.law.critical_ratio() * gauge
    }

    /// Returns the pressure at which a circuit comes to rest that lets in this much flow, which must not grow with the
    /// pressure.
    pub fn rest(&self, lets_in: impl Fn(f64) -> f64) -> f64 {
        let low = self.ultimate.clamp(0.0, 1.0);
        root(low, 1.0, |gauge| lets_in(gauge) - self.draws(gauge))
    }
}
