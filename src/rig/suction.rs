use serde::{Deserialize, Serialize};

use crate::air::{AirOpening, CRITICAL_FLOW, Law, depth_at, flow_function, opening};
use crate::quantity::{Pressure, VolumeFlow};

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
    /// Finds the inlet valve with which a pump pulls the two calibration readings: at these absolute pressures over the
    /// barometer's, what is open to the air has to differ by one test orifice; none where no valve
    /// before this pump does.
    ///
    /// With draws(x) the flow that inlet valve and pump take, A Phi(x) = draws(x).
    pub(super) fn pumped(way_out: impl Fn(f64) -> WayOut, plugged: f64, through: f64) -> Option<Suction> {
        let excess = |inlet| {
            let way_out = way_out(inlet);
            openings(&way_out, through) - openings(&way_out, plugged) - 1.0
        };
        let cannot = plugged <= way_out(WIDEST).ultimate || excess(WIDEST) < 0.0;
        (!cannot).then(|| Suction::Pumped(way_out(root(0.0, WIDEST, excess))))
    }

    /// Returns the area in test orifices that is open at a pressure beyond what is open at the plugged point; none
    /// where the pump does not matter.
    pub(super) fn area(&self, pressure: f64, plugged: f64) -> Option<f64> {
        let Suction::Pumped(way_out) = self else { return None };
        Some(openings(way_out, pressure) - openings(way_out, plugged))
    }

    /// Returns what is open to the air over the inlet valve, at a depth (vacuum over barometer); none at a depth that
    /// is not above 0 and below 1.
    pub(super) fn opening(&self, depth: f64) -> Option<AirOpening> {
        let nozzle = opening(depth)?;
        let Suction::Pumped(way_out) = self else { return Some(nozzle) };
        let ratio = |depth: f64| openings(way_out, 1.0 - depth) / way_out.inlet;
        let step = STEP * depth.min(1.0 - depth);
        let slope = (ratio(depth - step) - ratio(depth + step)) / (2.0 * step);
        Some(AirOpening { ratio: ratio(depth), slope })
    }

    /// Returns the depth at which what is open to the air has this ratio to the inlet valve; none where the
    /// ratio is not positive.
    pub(super) fn depth_at(&self, ratio: f64) -> Option<f64> {
        let Suction::Pumped(way_out) = self else { return depth_at(ratio) };
        let area = ratio * way_out.inlet;
        (area > 0.0 && area.is_finite())
            .then(|| 1.0 - way_out.rest(|pressure| area * flow_function(pressure).unwrap_or(0.0)))
    }

    /// Returns by how much more is open to the air for the same pressure when the inlet valve is opened by a little,
    /// over that little; the opening itself where the valve is sonic.
    pub(super) fn lever(&self, opening: AirOpening, pressure: f64) -> f64 {
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

/// A pump's own data.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Pump {
    /// The volume that it moves per time at its own pressure; above 0.
    #[serde(rename = "speed_m3_s")]
    pub speed: VolumeFlow,
    /// The least absolute pressure that it reaches; 0 or more.
    #[serde(rename = "ultimate_pa")]
    pub ultimate: Pressure,
}

/// The way out of the circuit: the inlet valve with the pump behind it.
///
/// Pressures are fractions of the barometer's; areas and flows share any one unit of area: a flow is mass flow times
/// sqrt(R T) over the barometer's pressure, and a pump's speed is volume flow over sqrt(R T).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WayOut {
    pub inlet: f64,
    pub law: Law,
    pub speed: f64,
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

    /// Returns the pressure at which a circuit comes to rest that lets in this much flow, which must not grow with the
    /// pressure.
    pub fn rest(&self, lets_in: impl Fn(f64) -> f64) -> f64 {
        let low = self.ultimate.clamp(0.0, 1.0);
        root(low, 1.0, |gauge| lets_in(gauge) - self.draws(gauge))
    }
}

/// Finds where a continuous function changes sign between two points, to the last few bits.
///
/// Where it does not change sign, returns the end with the smaller value. Chandrupatla, "A new hybrid
/// quadratic/bisection algorithm", Advances in Engineering Software 28 (1997) 145-149: inverse quadratic steps where
/// they are safe, halving where not, so the bracket is never lost.
fn root(low: f64, high: f64, function: impl Fn(f64) -> f64) -> f64 {
    const MOST_STEPS: usize = 200;
    let (mut newest, mut across) = (high, low);
    let (mut at_newest, mut at_across) = (function(newest), function(across));
    let nearer =
        |a: f64, at_a: f64, b: f64, at_b: f64| if at_a.abs() < at_b.abs() { (a, at_a) } else { (b, at_b) };
    if at_newest == 0.0 || at_across == 0.0 || at_newest.signum() == at_across.signum() {
        return nearer(newest, at_newest, across, at_across).0;
    }
    let mut share = 0.5;
    for _ in 0..MOST_STEPS {
        let trial = newest + share * (across - newest);
        let at_trial = function(trial);
        let (third, at_third) = if at_trial.signum() == at_newest.signum() {
            (newest, at_newest)
        } else {
            let behind = (across, at_across);
            (across, at_across) = (newest, at_newest);
            behind
        };
        (newest, at_newest) = (trial, at_trial);
        let (nearest, at_nearest) = nearer(newest, at_newest, across, at_across);
        let finest = (2.0 * f64::EPSILON * nearest.abs() + f64::MIN_POSITIVE) / (across - newest).abs();
        if at_nearest == 0.0 || finest > 0.5 {
            return nearest;
        }
        let place = (newest - across) / (third - across);
        let value = (at_newest - at_across) / (at_third - at_across);
        let safe = value * value < place && (1.0 - value) * (1.0 - value) < 1.0 - place;
        share = if safe {
            at_newest / (at_across - at_newest) * at_third / (at_across - at_third)
                + (third - newest) / (across - newest) * at_newest / (at_third - at_newest) * at_across
                    / (at_third - at_across)
        } else {
            0.5
        };
        share = share.clamp(finest, 1.0 - finest);
    }
    nearer(newest, at_newest, across, at_across).0
}
