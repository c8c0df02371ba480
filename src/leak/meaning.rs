use std::f64::consts::PI;

use serde::{Deserialize, Serialize};

use super::budget::ScaleErrors;
use super::propagation::Propagation;
use super::{Context, Estimate, Land, LeakKind, OilState};
use crate::air::{self, GAS_CONSTANT, OutOfDomain, SLIP, eccentricity_factor};
use crate::oil::{annulus_flow, hole_flow};
use crate::rig::{OperatingPoint, ReadingError};

/// A figure that a leak means; or why there is none.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(untagged, deny_unknown_fields)]
pub enum Interpretation {
    Value(Estimate),
    OutOfDomain { out_of_domain: OutOfDomain },
}

impl From<Result<Estimate, OutOfDomain>> for Interpretation {
    fn from(figure: Result<Estimate, OutOfDomain>) -> Interpretation {
        match figure {
            Ok(estimate) => Interpretation::Value(estimate),
            Err(out_of_domain) => Interpretation::OutOfDomain { out_of_domain },
        }
    }
}

impl Interpretation {
    /// Returns the interpretation with its figure multiplied by a factor that is not negative.
    pub fn scaled(self, factor: f64) -> Interpretation {
        match self {
            Interpretation::Value(estimate) => Interpretation::Value(estimate.scaled(factor)),
            outside => outside,
        }
    }

    /// Returns why there is no figure.
    pub fn outside(&self) -> Option<OutOfDomain> {
        match self {
            Interpretation::Value(_) => None,
            Interpretation::OutOfDomain { out_of_domain } => Some(*out_of_domain),
        }
    }

    /// Returns it as a record holds it: in six digits.
    pub(super) fn rounded(self) -> Interpretation {
        match self {
            Interpretation::Value(estimate) => Interpretation::Value(estimate.rounded()),
            outside => outside,
        }
    }

    pub fn estimate(&self) -> Option<Estimate> {
        match self {
            Interpretation::Value(estimate) => Some(*estimate),
            Interpretation::OutOfDomain { .. } => None,
        }
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

    /// The rig at the readings, shallow and deep, that bound what depends on the air flow over P^2 - p^2 before all
    /// else, and on the size and lie of a land.
    fn ends(&self, land: Option<&Land>) -> Result<(OperatingPoint<'_>, OperatingPoint<'_>), ReadingError> {
        let gap = self.propagation.point.gap_sensitivity();
        let conversion = land.map_or(0.0, Land::flow_limit);
        self.propagation.ends(&gap, ScaleErrors { conversion, ..self.propagation.scale.gap() })
    }

    /// The clearance of the land, where there is one, and oil through that, or through a gap of any shape
    /// where there is none.
    pub(super) fn gap(&self) -> Result<(Option<Interpretation>, Option<Interpretation>), ReadingError> {
        // Where the leak is said to be a hole, it is not what the land leaves open.
        let land = self.context.land.as_ref().filter(|_| self.context.kind() != Some(LeakKind::Hole));
        let oil = self.context.oil.as_ref();
        let Some(land) = land else { return Ok((None, oil.map(|oil| self.through_gap(oil)).transpose()?)) };
        let (shallow, deep) = self.ends(Some(land))?;
        let gap = LandGap { meaning: self, land, shallow: self.flow(&shallow), deep: self.flow(&deep) };
        let clearance = gap.clearance();
        let through = oil.map(|oil| clearance.and_then(|clearance| gap.oil(oil, clearance)));
        Ok((Some(clearance.into()), through.map(Interpretation::from)))
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
            return Ok(Err(OutOfDomain::OilTurbulent).into());
        }
        let (shallow, deep) = self.ends(None)?;
        Ok(Interpretation::Value(Estimate::of(value, loss(&deep), loss(&shallow))))
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
        Ok(Some(Interpretation::Value(estimate)))
    }
}

/// What leaks through the clearance of a land, with air flow in kg/s and absolute pressure in Pa at the
/// ends of its interval.
struct LandGap<'a> {
    meaning: &'a Meaning<'a>,
    land: &'a Land,
    shallow: (f64, f64),
    deep: (f64, f64),
}

impl LandGap<'_> {
    /// From the clearance of a valve lying against its bore, with the most slip, to that of a centred one; the best
    /// value is the latter's.
    fn clearance(&self) -> Result<Estimate, OutOfDomain> {
        let (flow, gauge) = self.meaning.flow(&self.meaning.propagation.point);
        let value = self.land.clearance(self.meaning.propagation.calibration).of_flow(flow, gauge)?;
        let (least, most) = self.land.eccentricities();
        Ok(Estimate::of(value, self.narrowest(most)?, self.widest(least)?))
    }

    /// Oil through the clearance, grown by the warmth of the oil where the metals are known: between what passes a
    /// lying valve and a centred one.
    fn oil(&self, oil: &OilState, clearance: Estimate) -> Result<Estimate, OutOfDomain> {
        let land = self.land;
        let growth = land.growth(oil.temperature().si() - self.meaning.temperature()).unwrap_or(0.0);
        let length = land.length().si() * f64::from(land.lands());
        let flow = |clearance: f64, eccentricity: f64| {
            let hot = (clearance + growth).max(0.0);
            annulus_flow(land.diameter().si(), hot, length, oil.pressure().si(), oil.viscosity())
                .map(|flow| flow.si() * eccentricity_factor(eccentricity))
                .ok_or(OutOfDomain::NotAThinGap)
        };
        let (least, most) = land.eccentricities();
        let value = flow(clearance.value, least)?;
        // Reynolds number of the gap, with twice its width for the hydraulic diameter: 2 Q / (pi (D - c) nu).
        let wetted = PI * (land.diameter().si() - clearance.value) * oil.viscosity() / oil.density();
        if 2.0 * value > MOST_REYNOLDS * wetted {
            return Err(OutOfDomain::OilTurbulent);
        }
        // What lies closer grows by more of itself, so either end may lose the more.
        let low = flow(clearance.low, most)?.min(flow(self.narrowest(least)?, least)?);
        let high = flow(clearance.high, least)?.max(flow(self.widest(most)?, most)?);
        Ok(Estimate::of(value, low, high))
    }

    fn narrowest(&self, eccentricity: f64) -> Result<f64, OutOfDomain> {
        self.solve(eccentricity, SLIP.1, self.deep)
    }

    fn widest(&self, eccentricity: f64) -> Result<f64, OutOfDomain> {
        self.solve(eccentricity, SLIP.0, self.shallow)
    }

    /// The ends of intervals need only a solution; their domain is that of the best value.
    fn solve(&self, eccentricity: f64, slip: f64, (flow, gauge): (f64, f64)) -> Result<f64, OutOfDomain> {
        let way = self.land.clearance_at(eccentricity, self.meaning.propagation.calibration);
        way.with_slip(slip).solve(flow, gauge)
    }
}
