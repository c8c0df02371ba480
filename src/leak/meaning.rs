use std::f64::consts::PI;
use std::fmt;

use serde::{Deserialize, Serialize};

use super::propagation::Propagation;
use super::{Context, Estimate, Land, OilState};
use crate::air::{self, GAS_CONSTANT, OutOfDomain, eccentricity_factor};
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
            Assumption::OneLand => "if all of the leak passes the clearance of this one land",
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

    /// The rig at the readings, shallow and deep, that bound what depends on the air flow over P^2 - p^2 before all else.
    fn ends(&self) -> Result<(OperatingPoint<'_>, OperatingPoint<'_>), ReadingError> {
        let gap = self.propagation.point.gap_sensitivity();
        self.propagation.ends(&gap, self.propagation.scale.gap())
    }

    /// The clearance of the land, where there is one.
    pub(super) fn clearance(&self) -> Result<Option<Interpretation>, ReadingError> {
        let Some(land) = &self.context.land else { return Ok(None) };
        let (shallow, deep) = self.ends()?;
        Ok(Some(match self.clearances(land, &deep, &shallow) {
            Ok(estimate) => Interpretation::Value { estimate, assumption: Assumption::OneLand },
            Err(why) => Interpretation::OutOfDomain { why },
        }))
    }

    /// The domain is checked at the best value; the ends of the interval need only a solution.
    fn clearances(
        &self,
        land: &Land,
        least: &OperatingPoint,
        most: &OperatingPoint,
    ) -> Result<Estimate, OutOfDomain> {
        let calibration = self.propagation.calibration;
        let gap = land.clearance(calibration);
        let end = |point: &OperatingPoint| {
            let (flow, gauge) = self.flow(point);
            gap.solve(flow, gauge)
        };
        let (flow, gauge) = self.flow(&self.propagation.point);
        Ok(Estimate::of(gap.of_flow(flow, gauge)?, end(least)?, end(most)?))
    }

    /// Oil through the clearance of the land, or through a gap of any shape where no land is given.
    pub(super) fn oil_annulus(
        &self,
        clearance: Option<Interpretation>,
    ) -> Result<Option<Interpretation>, ReadingError> {
        let Some(oil) = &self.context.oil else { return Ok(None) };
        match self.context.land.zip(clearance) {
            Some((land, clearance)) => Ok(Some(through_clearance(oil, &land, clearance))),
            None => self.through_gap(oil).map(Some),
        }
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
        let (shallow, deep) = self.ends()?;
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

    /// A loss of oil as a share of what the pump delivers, where that is known.
    pub(super) fn pump_share(&self, loss: Option<Interpretation>) -> Option<Interpretation> {
        let delivery = self.context.oil?.pump_delivery()?;
        Some(loss?.scaled(1.0 / delivery.si()))
    }
}

fn through_clearance(oil: &OilState, land: &Land, clearance: Interpretation) -> Interpretation {
    let Interpretation::Value { estimate, .. } = clearance else { return clearance };
    let flow = |clearance: f64| {
        let (bore, length) = (land.diameter().si(), land.length().si());
        annulus_flow(bore, clearance, length, oil.pressure().si(), oil.viscosity())
            .map(|flow| flow.si() * eccentricity_factor(land.eccentricity()))
    };
    // Reynolds number of the gap, with twice its width for the hydraulic diameter: 2 Q / (pi (D - c) nu).
    let wetted = PI * (land.diameter().si() - estimate.value) * oil.viscosity() / oil.density();
    match estimate.try_map(flow) {
        Some(loss) if 2.0 * loss.value > MOST_REYNOLDS * wetted => {
            Interpretation::OutOfDomain { why: OutOfDomain::OilTurbulent }
        }
        Some(estimate) => Interpretation::Value { estimate, assumption: Assumption::OilThroughClearance },
        None => Interpretation::OutOfDomain { why: OutOfDomain::NotAThinGap },
    }
}
