use std::f64::consts::PI;

use crate::air::{GAS_CONSTANT, mean_free_path, viscosity};
use crate::oil::eccentricity_factor;
use crate::quantity::Length;
use crate::rig::root::root;

/// A land with clearance in its bore, as a load of the simulated rig. Lengths are in m.
pub(super) struct Clearance {
    pub(super) bore: Length,
    pub(super) land: Length,
    pub(super) clearance: Length,
    pub(super) eccentricity: f64,
}

/// Momentum carried by a parabolic profile over that of an even one.
const PROFILE: f64 = 1.2;

impl Clearance {
    /// Returns the mass flow in kg/s from the room to the gauge, absolute pressures in Pa, at a temperature in K.
    ///
    /// Isothermal laminar flow with first-order slip and acceleration, sonic at the exit where the gauge is below
    /// that: the equation of motion integrated along the land, solved for the flow. The floor above has the same
    /// physics solved for the clearance; the tests hold one against the other.
    pub(super) fn passes(&self, room: f64, gauge: f64, temperature: f64) -> f64 {
        let gap = self.clearance.si();
        if gap <= 0.0 || gauge >= room {
            return 0.0;
        }
        let gas = GAS_CONSTANT * temperature;
        let sonic_pressure = |flux: f64| flux * (PROFILE * gas).sqrt();
        let unspent = |flux: f64| {
            let exit = gauge.max(sonic_pressure(flux));
            let knudsen = mean_free_path(0.5 * (room + exit), temperature) / gap;
            let ease = eccentricity_factor(self.eccentricity) * (1.0 + 6.0 * knudsen);
            let friction = 12.0 * viscosity(temperature) * self.land.si() * flux / (gap * gap * ease);
            let acceleration = PROFILE * flux * flux * libm::log(room / exit);
            (room * room - exit * exit) / (2.0 * gas) - friction - acceleration
        };
        let flux = root(0.0, room / (PROFILE * gas).sqrt(), unspent);
        flux * PI * (self.bore.si() - gap) * gap
    }
}
