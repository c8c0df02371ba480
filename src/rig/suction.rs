use super::root::root;
use super::{CalibrationError, WayOut};
use crate::air::{Opening, depth_at, flow_function, opening};
use crate::rig::pump::{NEEDLE_VALVE_CRITICAL_RATIO, RelativePump};

/// What draws the air out of a calibrated rig.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Suction {
    /// A sonic inlet valve: the pump does not matter, and everything has a closed form.
    Sonic,
    /// An inlet valve that is not sonic throughout, and the pump behind it, in test orifices.
    Pumped(WayOut),
}

/// No inlet valve is wider than this, in test orifices.
const WIDEST: f64 = 1e4;

/// Steps of the derivatives, as a share of the distance to where they end.
const STEP: f64 = 1e-6;

impl Suction {
    /// Finds the inlet valve with which this pump pulls the two calibration readings: at these absolute pressures over
    /// the barometer's, what is open to the air has to differ by one test orifice.
    ///
    /// With draws(x) the flow that inlet valve and pump take, A Phi(x) = draws(x).
    pub(super) fn pumped(
        pump: &RelativePump,
        plugged: f64,
        through: f64,
    ) -> Result<Suction, CalibrationError> {
        let way_out = |inlet| pump.behind(inlet, NEEDLE_VALVE_CRITICAL_RATIO);
        let excess = |inlet| {
            let way_out = way_out(inlet);
            openings(&way_out, through) - openings(&way_out, plugged) - 1.0
        };
        if plugged <= pump.ultimate || excess(WIDEST) < 0.0 {
            return Err(CalibrationError::PumpContradicted);
        }
        Ok(Suction::Pumped(way_out(root(0.0, WIDEST, excess))))
    }

    /// Returns what is open to the air over the inlet valve, at a depth (vacuum over barometer); none at a depth that is
    /// not above 0 and below 1.
    pub(super) fn opening(&self, depth: f64) -> Option<Opening> {
        let nozzle = opening(depth)?;
        let Suction::Pumped(way_out) = self else { return Some(nozzle) };
        let ratio = |depth: f64| openings(way_out, 1.0 - depth) / way_out.inlet;
        let step = STEP * depth.min(1.0 - depth);
        let slope = (ratio(depth - step) - ratio(depth + step)) / (2.0 * step);
        Some(Opening { ratio: ratio(depth), slope })
    }

    /// Returns the depth at which what is open to the air has this ratio to the inlet valve; none where the ratio is not
    /// positive.
    pub(super) fn depth_at(&self, ratio: f64) -> Option<f64> {
        let Suction::Pumped(way_out) = self else { return depth_at(ratio) };
        let area = ratio * way_out.inlet;
        (area > 0.0 && area.is_finite())
            .then(|| 1.0 - way_out.rest(|pressure| area * flow_function(pressure).unwrap_or(0.0)))
    }

    /// Returns by how much more is open to the air for the same pressure when the inlet valve is opened by a little, over
    /// that little; the opening itself where the valve is sonic.
    pub(super) fn lever(&self, opening: Opening, pressure: f64) -> f64 {
        let Suction::Pumped(way_out) = self else { return opening.ratio };
        let step = STEP * way_out.inlet;
        let at = |inlet| openings(&WayOut { inlet, ..*way_out }, pressure);
        (at(way_out.inlet + step) - at(way_out.inlet - step)) / (2.0 * step)
    }
}

/// What has to be open to the air for the circuit to rest at a pressure.
fn openings(way_out: &WayOut, pressure: f64) -> f64 {
    way_out.draws(pressure) / flow_function(pressure).unwrap_or(f64::NAN)
}
