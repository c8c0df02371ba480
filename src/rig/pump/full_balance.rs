use std::fmt;

use super::{NEEDLE_VALVE_CRITICAL_RATIO, RelativePump};
use crate::air::flow_function;
use crate::quantity::Pressure;
use crate::rig::root::root;
use crate::rig::{Calibration, ReadingError, WayOut};

/// A calibrated rig whose inlet valve need not be sonic: its valves solved together with the pump.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FullBalance {
    calibration: Calibration,
    way_out: WayOut,
    bleed: f64,
}

/// Why a rig cannot be solved with its pump.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BalanceError {
    /// Nothing is known of the pump.
    PumpUnknown,
    /// This pump cannot have pulled the two calibration readings, however far the inlet valve is open.
    PumpContradicted,
}

impl fmt::Display for BalanceError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            BalanceError::PumpUnknown => f.write_str(
                "the inlet valve may not be sonic and nothing is known of the pump; shut the bleed valve, open the inlet \
                 valve as far as it goes, and read the gauge with the hose plugged and through the test orifice",
            ),
            BalanceError::PumpContradicted => f.write_str(
                "this pump cannot have pulled the calibration readings; measure its speed and ultimate pressure again, \
                 with the bleed valve shut and the inlet valve open",
            ),
        }
    }
}

impl std::error::Error for BalanceError {}

/// No inlet valve is wider than this, in test orifices.
const WIDEST: f64 = 1e4;

impl FullBalance {
    /// Solves both valves from the calibration's two readings and the pump.
    ///
    /// With draws(x) the flow that inlet valve and pump take at x, bleed and work let in
    /// (A_b + A_x) Phi(x) = draws(x); the inlet valve is the one with which the two points are an orifice apart.
    pub fn new(calibration: &Calibration, pump: Option<&RelativePump>) -> Result<FullBalance, BalanceError> {
        let pump = pump.ok_or(BalanceError::PumpUnknown)?;
        let plugged = calibration.ratio(calibration.plugged());
        let through = calibration.ratio(calibration.through());
        let way_out = |inlet| pump.behind(inlet, NEEDLE_VALVE_CRITICAL_RATIO);
        let excess = |inlet| {
            let way_out = way_out(inlet);
            openings(&way_out, through) - openings(&way_out, plugged) - 1.0
        };
        if excess(WIDEST) < 0.0 || plugged <= pump.ultimate {
            return Err(BalanceError::PumpContradicted);
        }
        let way_out = way_out(root(0.0, WIDEST, excess));
        Ok(FullBalance { calibration: *calibration, way_out, bleed: openings(&way_out, plugged) })
    }

    /// Returns the effective area of the inlet valve over that of the test orifice.
    pub fn inlet_relative(&self) -> f64 {
        self.way_out.inlet
    }

    /// Returns the effective area of the bleed valve over that of the test orifice.
    pub fn bleed_relative(&self) -> f64 {
        self.bleed
    }

    /// Returns the leak of a circuit in test orifices, as [`Calibration::leak_at`] does for a sonic inlet valve.
    ///
    /// Refuses the readings that it refuses.
    pub fn leak_at(&self, reading: Pressure) -> Result<f64, ReadingError> {
        let point = self.calibration.at(reading)?;
        let area = openings(&self.way_out, self.calibration.ratio(reading)) - self.bleed;
        Ok(area.max(0.0) * point.coefficient_ratio())
    }
}

/// What has to be open to the air for the circuit to rest at a pressure.
fn openings(way_out: &WayOut, pressure: f64) -> f64 {
    way_out.draws(pressure) / flow_function(pressure).unwrap_or(f64::NAN)
}
