//! What a leak means as a clearance and in oil.

use super::assess::Propagation;
use super::clearance::{clearance, solve};
use super::scale::{Scale, joined};
use super::{Assumption, Context, Estimate, Interpretation, OutOfDomain};
use crate::air::{self, GAS_CONSTANT};
use crate::oil::{annulus_flow, eccentricity_factor, hole_flow};
use crate::quantity::Pressure;
use crate::rig::ReadingError;

/// A leak, with what is known of its circuit.
pub(super) struct Meaning<'a> {
    pub(super) propagation: &'a Propagation<'a>,
    pub(super) scale: &'a Scale,
    pub(super) context: &'a Context,
}

/// Keeps a failure of the reading apart from a relation that does not hold.
enum Failure {
    Reading(ReadingError),
    Outside(OutOfDomain),
}

impl Meaning<'_> {
    fn room(&self) -> f64 {
        self.propagation.calibration.barometer().si()
    }

    fn temperature(&self) -> f64 {
        self.propagation.calibration.temperature().si()
    }

    /// A figure that depends on the air flow over P^2 - p^2 before all else.
    fn of_gap(
        &self,
        relation: impl Fn(Pressure) -> Result<f64, Failure>,
        assumption: Assumption,
    ) -> Result<Interpretation, ReadingError> {
        let gap = self.propagation.calibration.gap_sensitivity(self.propagation.mean)?;
        match self.propagation.through(&gap, self.scale.coefficient, self.scale.bore, relation) {
            Ok(estimate) => Ok(Interpretation::Value { estimate, assumption }),
            Err(Failure::Outside(why)) => Ok(Interpretation::OutOfDomain { why }),
            Err(Failure::Reading(error)) => Err(error),
        }
    }

    /// The clearance of the land, where there is one. Its domain is checked at the best value; the ends of the interval
    /// need only a solution.
    pub(super) fn clearance(&self) -> Result<Option<Interpretation>, ReadingError> {
        let Some(land) = &self.context.land else { return Ok(None) };
        let relation = |reading: Pressure| {
            let flow = self.propagation.flow_at(reading).map_err(Failure::Reading)?;
            let best = reading == self.propagation.mean;
            let method = if best { clearance } else { solve };
            method(land, flow, self.room(), self.room() - reading.si(), self.temperature())
                .map_err(Failure::Outside)
        };
        self.of_gap(relation, Assumption::OneLand).map(Some)
    }

    /// Oil through the clearance of the land, or through a gap of any shape where no land is given.
    pub(super) fn oil_annulus(
        &self,
        clearance: Option<Interpretation>,
    ) -> Result<Option<Interpretation>, ReadingError> {
        let Some(oil) = &self.context.oil else { return Ok(None) };
        let (viscosity, pressure) = (oil.viscosity(), oil.pressure().si());
        let Some((land, clearance)) = self.context.land.zip(clearance) else {
            // The handbook's two annulus formulas, for air and for oil, divided: the geometry cancels.
            let (room, temperature) = (self.room(), self.temperature());
            let factor =
                2.0 * air::viscosity(temperature) * GAS_CONSTANT * temperature * pressure / viscosity;
            let relation = |reading: Pressure| {
                let flow = self.propagation.flow_at(reading).map_err(Failure::Reading)?;
                Ok(factor * flow / (reading.si() * (2.0 * room - reading.si())))
            };
            return self.of_gap(relation, Assumption::OilThroughGap).map(Some);
        };
        let (bore, length) = (land.diameter().si(), land.length().si());
        let flow = |clearance: f64| {
            annulus_flow(bore, clearance, length, pressure, viscosity)
                .map(|flow| flow.si() * eccentricity_factor(land.eccentricity()))
        };
        Ok(Some(match clearance {
            outside @ Interpretation::OutOfDomain { .. } => outside,
            Interpretation::Value { estimate, .. } => match estimate.try_map(flow) {
                Some(estimate) => {
                    Interpretation::Value { estimate, assumption: Assumption::OilThroughClearance }
                }
                None => Interpretation::OutOfDomain { why: OutOfDomain::NotAThinGap },
            },
        }))
    }

    /// Oil through a hole of the test orifice's kind, with its coefficient for liquids.
    pub(super) fn oil_hole(&self) -> Result<Option<Interpretation>, ReadingError> {
        let Some(oil) = &self.context.oil else { return Ok(None) };
        let calibration = self.propagation.calibration;
        let orifice = calibration.orifice();
        let effective_area = orifice.kind().coefficient(1.0) * orifice.area();
        let Some(one) = hole_flow(effective_area, oil.pressure().si(), oil.density()) else {
            return Ok(None);
        };
        let leak = calibration.leak_sensitivity(self.propagation.mean)?;
        let coefficient = joined(self.scale.change, self.scale.liquid);
        let estimate: Estimate = self
            .propagation
            .through(&leak, coefficient, self.scale.bore, |reading| calibration.leak_at(reading))?
            .scaled(one.si());
        Ok(Some(Interpretation::Value { estimate, assumption: Assumption::OilThroughHole }))
    }

    /// A loss of oil as a share of what the pump delivers, where that is known.
    pub(super) fn pump_share(&self, loss: Option<Interpretation>) -> Option<Interpretation> {
        let delivery = self.context.oil?.pump_delivery()?;
        Some(loss?.scaled(1.0 / delivery.si()))
    }
}
