use std::f64::consts::FRAC_PI_4;

use super::{Load, RigFault, Settings};
use crate::air::{Clearance, GAS_CONSTANT, Law};
use crate::quantity::Length;

/// Everything that lets air into the circuit.
pub(super) struct WayIn<'rig> {
    settings: &'rig Settings,
    bleed_m2: f64,
    load: Load,
    faults: &'rig [RigFault],
    plug_seating: f64,
}

/// Effective area of an open hose end, in m2: far more than any inlet valve draws.
const OPEN_END_M2: f64 = 2.0e-5;

impl<'rig> WayIn<'rig> {
    pub(super) fn new(
        settings: &'rig Settings,
        bleed_turns: f64,
        load: Load,
        faults: &'rig [RigFault],
        plug_seating: f64,
    ) -> WayIn<'rig> {
        WayIn { settings, bleed_m2: settings.bleed.area_at(bleed_turns), load, faults, plug_seating }
    }

    /// Returns the flow let in with the circuit at this fraction of the barometer's pressure, in m2: mass flow times
    /// sqrt(R T) over the barometer's pressure.
    pub(super) fn passes(&self, pressure: f64) -> f64 {
        self.bleed_m2 * self.settings.bleed.law().flow(pressure)
            + self.through_load(pressure)
            + self.through_faults(pressure)
    }

    fn through_load(&self, pressure: f64) -> f64 {
        match self.load {
            Load::Plugged | Load::OtherPlug | Load::Capped => 0.0,
            Load::Open => OPEN_END_M2 * Law::Nozzle.flow(pressure),
            Load::Orifice => self.through_hole(self.fitted_orifice(), pressure),
            Load::Hole { diameter } => self.through_hole(diameter, pressure),
            Load::Leak(share) => share * self.through_hole(self.settings.orifice.diameter(), pressure),
            Load::Clearance { bore, land, clearance, eccentricity } => {
                let (room, temperature) = (self.settings.barometer.si(), self.settings.temperature.si());
                let land = Clearance::new(
                    bore,
                    land,
                    eccentricity,
                    self.settings.barometer,
                    self.settings.temperature,
                );
                let kilograms = land.flow(clearance.si(), pressure * room).unwrap_or(0.0);
                kilograms * (GAS_CONSTANT * temperature).sqrt() / room
            }
        }
    }

    fn through_faults(&self, pressure: f64) -> f64 {
        let leak = |fault: &RigFault| match fault {
            RigFault::HoseLeaking { hole } if self.load != Load::Capped => self.through_hole(*hole, pressure),
            RigFault::PlugNotSealing { hole } if self.load == Load::Plugged => {
                self.plug_seating * self.through_hole(*hole, pressure)
            }
            _ => 0.0,
        };
        self.faults.iter().map(leak).sum()
    }

    fn fitted_orifice(&self) -> Length {
        let wrong = |fault: &RigFault| match fault {
            RigFault::WrongOrifice { bore } => Some(*bore),
            _ => None,
        };
        self.faults.iter().find_map(wrong).unwrap_or(self.settings.orifice.diameter())
    }

    /// Every hole is of the test orifice's kind.
    fn through_hole(&self, bore: Length, pressure: f64) -> f64 {
        // The rise of the coefficient runs from the usual through point, 5 inHg, to sonic flow.
        const THROUGH: f64 = 1.0 - 5.0 / 29.921;
        let sonic = Law::Nozzle.critical_ratio();
        let rise = ((THROUGH - pressure) / (THROUGH - sonic)).clamp(0.0, 1.0) * self.settings.discharge_rise;
        let coefficient = self.settings.orifice.kind().coefficient(pressure) * (1.0 + rise);
        coefficient * FRAC_PI_4 * bore.si() * bore.si() * Law::Nozzle.flow(pressure)
    }
}
