use std::f64::consts::PI;
use std::fmt;

use serde::{Deserialize, Serialize};

use super::budget::ScaleErrors;
use super::propagation::Propagation;
use super::{Context, Estimate, Land, LeakKind, OilState};
use crate::air::{self, GAS_CONSTANT, OutOfDomain, SLIP, eccentricity_factor};
use crate::oil::{annulus_flow, hole_flow};
use crate::rig::{OperatingPoint, ReadingError};

/// A figure that a leak means, with the assumption that it rests on; or why there is none.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Interpretation {
    Value { estimate: Estimate, assumption: Assumption },
    OutOfDomain { why: OutOfDomain },
}

/// What an interpretation takes for granted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Assumption {
    OneLand,
    OilThroughClearance,
    OilThroughGap,
    OilThroughHole,
}

impl Interpretation {
    /// Returns the interpretation with its figure multiplied by a factor that is not negative.
    pub fn scaled(self, factor: f64) -> Interpretation {
        match self {
            Interpretation::Value { estimate, assumption } => {
                Interpretation::Value { estimate: estimate.scaled(factor), assumption }
            }
            outside => outside,
        }
    }

    /// Returns why there is no figure.
    pub fn outside(&self) -> Option<OutOfDomain> {
        match self {
            Interpretation::Value { .. } => None,
            Interpretation::OutOfDomain { why } => Some(*why),
        }
    }

    /// Returns it as a record holds it: in six digits.
    pub(super) fn rounded(self) -> Interpretation {
        match self {
            Interpretation::Value { estimate, assumption } => {
                Interpretation::Value { estimate: estimate.rounded(), assumption }
            }
            outside => outside,
        }
    }

    pub fn estimate(&self) -> Option<Estimate> {
        match self {
            Interpretation::Value { estimate, .. } => Some(*estimate),
            Interpretation::OutOfDomain { .. } => None,
        }
    }
}

impl fmt::Display for Assumption {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Assumption::OneLand => "if all of the leak passes there",
            Assumption::OilThroughClearance => "if oil takes the clearance of the land, in laminar flow",
            Assumption::OilThroughGap => "if the leak is one narrow gap, in laminar flow",
            Assumption::OilThroughHole => "if the leak is one hole like the test orifice, in turbulent flow",
        })
    }
}

/// Reynolds number up to which the flow of oil in a gap is taken to be laminar.
const MOST_REYNOLDS: f64 = 2000.0;

/// A leak, with what is known of its circuit.
pub(super) struct Meaning<'a> {
    pub(super) propagation: &'a Propagation<'a>,
    pub(super) context: &'a Context,
}

impl Meaning<'_> {
    fn room(&self) -> f64 {
        self.propagation.calibration.barometer().si()
    }

    fn temperature(&self) -> f64 {
        self.propagation.calibration.temperature().si()
    }

    /// Air through the leak in kg/s and the absolute pressure at the gauge in Pa.
    fn flow(&self, point: &OperatingPoint) -> (f64, f64) {
        (point.flow() * self.propagation.calibration.flow_unit(), point.ratio() * self.room())
    }

    /// The rig at the readings, shallow and deep, that bound what depends on the air flow over P^2 - p^2 before all else, and on
    /// the size and lie of a land.
    fn ends(&self, land: Option<&Land>) -> Result<(OperatingPoint<'_>, OperatingPoint<'_>), ReadingError> {
        let gap = self.propagation.point.gap_sensitivity();
        let conversion = land.map_or(0.0, Land::flow_limit);
        self.propagation.ends(&gap, ScaleErrors { conversion, ..self.propagation.scale.gap() })
    }

    /// The clearance of the land, where there is one: from that of a valve lying against its bore, with the most slip, to that
    /// of a centred one; the best value is the latter's.
    pub(super) fn clearance(&self) -> Result<Option<Interpretation>, ReadingError> {
        // Where the leak is said to be a hole, it is not what the land leaves open.
        let land = self.context.land.as_ref().filter(|_| self.context.kind() != Some(LeakKind::Hole));
        let Some(land) = land else { return Ok(None) };
        let (shallow, deep) = self.ends(Some(land))?;
        let (least, most) = land.eccentricities();
        let (flow, gauge) = self.flow(&self.propagation.point);
        let range = || {
            let value = land.clearance(self.propagation.calibration).of_flow(flow, gauge)?;
            let lying = self.clearance_at(land, most, SLIP.1, &deep)?;
            Ok(Estimate::of(value, lying, self.clearance_at(land, least, SLIP.0, &shallow)?))
        };
        Ok(Some(match range() {
            Ok(estimate) => Interpretation::Value { estimate, assumption: Assumption::OneLand },
            Err(why) => Interpretation::OutOfDomain { why },
        }))
    }

    /// The ends of intervals need only a solution; their domain is that of the best value.
    fn clearance_at(
        &self,
        land: &Land,
        eccentricity: f64,
        slip: f64,
        point: &OperatingPoint,
    ) -> Result<f64, OutOfDomain> {
        let (flow, gauge) = self.flow(point);
        let way = land.clearance_at(eccentricity, self.propagation.calibration).with_slip(slip);
        way.solve(flow, gauge)
    }

    /// Oil through the clearance of the land, or through a gap of any shape where no land is given.
    pub(super) fn oil_annulus(
        &self,
        clearance: Option<Interpretation>,
    ) -> Result<Option<Interpretation>, ReadingError> {
        let Some(oil) = &self.context.oil else { return Ok(None) };
        match self.context.land.zip(clearance) {
            Some((land, clearance)) => self.through_clearance(oil, &land, clearance).map(Some),
            None => self.through_gap(oil).map(Some),
        }
    }

    /// Oil through the clearance of a land, grown by the warmth of the oil where the metals are known: between what passes a
    /// lying valve and a centred one.
    fn through_clearance(
        &self,
        oil: &OilState,
        land: &Land,
        clearance: Interpretation,
    ) -> Result<Interpretation, ReadingError> {
        let Interpretation::Value { estimate, .. } = clearance else { return Ok(clearance) };
        let growth = land.growth(oil.temperature().si() - self.temperature()).unwrap_or(0.0);
        let length = land.length().si() * f64::from(land.lands());
        let flow = |clearance: f64, eccentricity: f64| {
            let hot = (clearance + growth).max(0.0);
            annulus_flow(land.diameter().si(), hot, length, oil.pressure().si(), oil.viscosity())
                .map(|flow| flow.si() * eccentricity_factor(eccentricity))
                .ok_or(OutOfDomain::NotAThinGap)
        };
        let (shallow, deep) = self.ends(Some(land))?;
        let (least, most) = land.eccentricities();
        let range = || {
            let value = flow(estimate.value, least)?;
            // Reynolds number of the gap, with twice its width for the hydraulic diameter: 2 Q / (pi (D - c) nu).
            let wetted = PI * (land.diameter().si() - estimate.value) * oil.viscosity() / oil.density();
            if 2.0 * value > MOST_REYNOLDS * wetted {
                return Err(OutOfDomain::OilTurbulent);
            }
            // What lies closer grows by more of itself, so either end may lose the more.
            let end = |eccentricity: f64, slip: f64, point: &OperatingPoint| {
                flow(self.clearance_at(land, eccentricity, slip, point)?, eccentricity)
            };
            let low = end(least, SLIP.1, &deep)?.min(end(most, SLIP.1, &deep)?);
            let high = end(least, SLIP.0, &shallow)?.max(end(most, SLIP.0, &shallow)?);
            Ok(Estimate::of(value, low, high))
        };
        Ok(match range() {
            Ok(estimate) => Interpretation::Value { estimate, assumption: Assumption::OilThroughClearance },
            Err(why) => Interpretation::OutOfDomain { why },
        })
    }

    /// The handbook's two annulus formulas, for air and for oil, divided: the geometry cancels.
    fn through_gap(&self, oil: &OilState) -> Result<Interpretation, ReadingError> {
        let (room, temperature) = (self.room(), self.temperature());
        let factor = 2.0 * air::viscosity(temperature) * GAS_CONSTANT * temperature * oil.pressure().si()
            / oil.viscosity();
        let loss = |point: &OperatingPoint| {
            let (flow, gauge) = self.flow(point);
            factor * flow / ((room - gauge) * (room + gauge))
        };
        let value = loss(&self.propagation.point);
        // No gap passes more than its area does without friction.
        if value > self.jet(oil) * self.propagation.point.leak() {
            return Ok(Interpretation::OutOfDomain { why: OutOfDomain::OilTurbulent });
        }
        let (shallow, deep) = self.ends(None)?;
        let estimate = Estimate::of(value, loss(&deep), loss(&shallow));
        Ok(Interpretation::Value { estimate, assumption: Assumption::OilThroughGap })
    }

    /// Oil in m3/s through one test orifice, with its coefficient for liquids.
    fn jet(&self, oil: &OilState) -> f64 {
        let orifice = self.propagation.calibration.orifice();
        let effective_area = orifice.kind().coefficient(1.0) * orifice.area();
        hole_flow(effective_area, oil.pressure().si(), oil.density()).map_or(0.0, |flow| flow.si())
    }

    /// Oil through a hole of the test orifice's kind, with its coefficient for liquids.
    pub(super) fn oil_hole(&self) -> Result<Option<Interpretation>, ReadingError> {
        let Some(oil) = &self.context.oil else { return Ok(None) };
        let leak = self.propagation.point.leak_sensitivity();
        let estimate = self
            .propagation
            .through(&leak, self.propagation.scale.liquid(), |point| point.leak())?
            .scaled(self.jet(oil));
        Ok(Some(Interpretation::Value { estimate, assumption: Assumption::OilThroughHole }))
    }
}
