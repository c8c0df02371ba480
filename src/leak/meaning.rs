//! What a leak means as a clearance and in oil.

use libm::exp;

use super::{Assumption, Context, Estimate, Interpretation, OilState, OutOfDomain};
use super::{clearance::clearance, clearance::solve};
use crate::air::{self, GAS_CONSTANT};
use crate::oil::{annulus_flow, eccentricity_factor, hole_flow};
use crate::quantity::Pressure;
use crate::rig::{Calibration, OrificeKind};

/// A leak seen at the best reading and at the two ends of its interval, with the relative uncertainty of the scale of
/// its air flow.
pub(super) struct Seen<'a> {
    pub(super) calibration: &'a Calibration,
    /// The best reading, and those at which the leak is smallest and largest.
    pub(super) readings: [Pressure; 3],
    /// Air flow at each of them in kg/s.
    pub(super) flows: [f64; 3],
    /// Relative half-width of the flow's 95 % interval by its scale alone: coefficient, bore, temperature.
    pub(super) flow_scale: f64,
    /// The leak in test orifices.
    pub(super) leak: Estimate,
}

/// Widens the interval of a value by an independent relative one, in quadrature on either side.
pub(super) fn widened(value: f64, low: f64, high: f64, below: f64, above: f64) -> Estimate {
    let side = |one: f64, other: f64| (one * one + other * other).sqrt();
    Estimate {
        value,
        low: (value - side(value - low, value - below)).max(0.0),
        high: value + side(high - value, above - value),
    }
}

impl Seen<'_> {
    fn gauge(&self, which: usize) -> f64 {
        self.calibration.barometer().si() - self.readings[which].si()
    }

    pub(super) fn clearance(&self, context: &Context) -> Option<Interpretation> {
        let land = context.land.as_ref()?;
        let (room, temperature) = (self.calibration.barometer().si(), self.calibration.temperature().si());
        let at = |which: usize, scale: f64| {
            solve(land, self.flows[which] * scale, room, self.gauge(which), temperature)
        };
        let estimate = || -> Result<Estimate, OutOfDomain> {
            let value = clearance(land, self.flows[0], room, self.gauge(0), temperature)?;
            let (below, above) = (at(0, exp(-self.flow_scale))?, at(0, exp(self.flow_scale))?);
            Ok(widened(value, at(1, 1.0)?, at(2, 1.0)?, below, above))
        };
        Some(match estimate() {
            Ok(estimate) => Interpretation::Value { estimate, assumption: Assumption::OneLand },
            Err(why) => Interpretation::OutOfDomain { why },
        })
    }

    /// Oil through the clearance of the land, or through a gap of any shape where no land is given.
    pub(super) fn oil_annulus(
        &self,
        context: &Context,
        oil: &OilState,
        clearance: Option<Interpretation>,
    ) -> Option<Interpretation> {
        let viscosity = oil.oil.dynamic_viscosity(oil.temperature_k).ok()?;
        let (Some(land), Some(clearance)) = (context.land, clearance) else {
            return Some(self.oil_gap(oil, viscosity));
        };
        let (bore, length) = (land.diameter().si(), land.length().si());
        Some(match clearance {
            Interpretation::OutOfDomain { why } => Interpretation::OutOfDomain { why },
            Interpretation::Value { estimate, .. } => {
                let flow = |clearance: f64| {
                    annulus_flow(bore, clearance, length, oil.pressure_pa.si(), viscosity)
                        .map(|flow| flow.si() * eccentricity_factor(land.eccentricity()))
                };
                match (flow(estimate.value), flow(estimate.low), flow(estimate.high)) {
                    (Some(value), Some(low), Some(high)) => Interpretation::Value {
                        estimate: Estimate { value, low, high },
                        assumption: Assumption::OilThroughClearance,
                    },
                    _ => Interpretation::OutOfDomain { why: OutOfDomain::NotAThinGap },
                }
            }
        })
    }

    /// The handbook's two annulus formulas, for air and for oil, divided: the geometry cancels.
    fn oil_gap(&self, oil: &OilState, viscosity: f64) -> Interpretation {
        let (room, temperature) = (self.calibration.barometer().si(), self.calibration.temperature().si());
        let factor =
            2.0 * air::viscosity(temperature) * GAS_CONSTANT * temperature * oil.pressure_pa.si() / viscosity;
        let flow = |which: usize| {
            factor * self.flows[which] / ((room - self.gauge(which)) * (room + self.gauge(which)))
        };
        let value = flow(0);
        let (below, above) = (value * exp(-self.flow_scale), value * exp(self.flow_scale));
        Interpretation::Value {
            estimate: widened(value, flow(1), flow(2), below, above),
            assumption: Assumption::OilThroughGap,
        }
    }

    /// Oil through a hole of the test orifice's kind, with its coefficient for liquids.
    pub(super) fn oil_hole(&self, oil: &OilState, bore_scale: f64) -> Option<Interpretation> {
        let orifice = self.calibration.orifice();
        let coefficient = orifice.kind().coefficient(1.0);
        let limit = match orifice.kind() {
            OrificeKind::Plug => air::PLUG_LIMIT,
            OrificeKind::Plate => air::PLATE_LIMIT,
        };
        let density = oil.oil.density(oil.temperature_k).si();
        let one = hole_flow(coefficient * orifice.area(), oil.pressure_pa.si(), density)?.si();
        let scale = (bore_scale * bore_scale + limit * limit / (coefficient * coefficient)).sqrt();
        let leak = self.leak.scaled(one);
        let estimate =
            widened(leak.value, leak.low, leak.high, leak.value * (1.0 - scale), leak.value * (1.0 + scale));
        Some(Interpretation::Value { estimate, assumption: Assumption::OilThroughHole })
    }
}
