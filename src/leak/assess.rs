use serde::{Deserialize, Serialize};

use super::meaning::Meaning;
use super::propagation::Propagation;
use super::{Bench, Budget, Context, Estimate, Interpretation};
use crate::air::{STANDARD_PRESSURE, density};
use crate::quantity::Pressure;
use crate::rig::ReadingError;

/// Everything that the readings of one state of a circuit mean. Intervals are 95 %; values are SI.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Assessment {
    /// How many readings were taken.
    pub readings: u32,
    /// Their mean, in Pa.
    pub reading_pa: Pressure,
    /// Area of the equivalent hole over that of the test orifice.
    pub relative_leak: Estimate,
    /// Bore of the equivalent hole, of the test orifice's kind, in m.
    pub hole_m: Estimate,
    /// What the standard rig would show, in Pa.
    pub standard_reading_pa: Estimate,
    /// Air through the leak at this reading, in kg/s.
    pub air_kg_s: Estimate,
    /// Radial clearance of the land in m, where one was given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clearance_m: Option<Interpretation>,
    /// Oil lost at working pressure through a gap, in m3/s, where oil was given: the laminar end of the bracket.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gap_oil_m3_s: Option<Interpretation>,
    /// Oil lost at working pressure through a hole, in m3/s, where oil was given: the turbulent end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hole_oil_m3_s: Option<Interpretation>,
    /// Standard uncertainties of the standard reading, in Pa.
    #[serde(rename = "budget_pa")]
    pub budget: Budget,
}

impl Assessment {
    /// Returns whether the reading says no more than that at least so much comes in: near zero a division of the dial
    /// is any hole between a wide one and the hose's own bore.
    pub(crate) fn is_wide_open(&self) -> bool {
        self.relative_leak.value > 1.0 && self.relative_leak.high > 3.0 * self.relative_leak.low
    }

    /// Returns whether the reading says no more than that at most so much comes in: near the plugged point a division
    /// of the dial is any hole between none and a fine one.
    pub(crate) fn is_tight(&self) -> bool {
        self.relative_leak.value < 1.0 && self.relative_leak.high >= 10.0 * self.relative_leak.low
    }

    /// Returns the air through the leak at this reading as volume at 20 °C and 101 325 Pa, in m3/s.
    pub fn air_standard_flow(&self) -> Estimate {
        self.air_kg_s.scaled(1.0 / density(STANDARD_PRESSURE, 293.15))
    }

    /// Returns it as a record holds it: every figure in six digits, and the budget in three.
    pub(crate) fn rounded(self) -> Assessment {
        let rounded = |interpretation: Option<Interpretation>| interpretation.map(Interpretation::rounded);
        Assessment {
            relative_leak: self.relative_leak.rounded(),
            hole_m: self.hole_m.rounded(),
            standard_reading_pa: self.standard_reading_pa.rounded(),
            air_kg_s: self.air_kg_s.rounded(),
            clearance_m: rounded(self.clearance_m),
            gap_oil_m3_s: rounded(self.gap_oil_m3_s),
            hole_oil_m3_s: rounded(self.hole_oil_m3_s),
            budget: self.budget.rounded(),
            ..self
        }
    }
}

/// Assesses the readings of one state of a circuit.
///
/// Every error is carried to first order (JCGM 100), gauge errors as common to calibration and reading. Figures that
/// curve (leak, hole, clearance, oil) have their errors referred to the reading, where the errors are nearly straight,
/// and the ends of the interval of the reading go through the monotone relations. What a perfect gauge would show lies
/// between the reading of the open hose and the plugged point; the intervals are the shortest within these bounds.
///
/// Fails where a reading cannot be that of a circuit on this rig, or there is none.
pub fn assess(readings: &[Pressure], bench: &Bench, context: &Context) -> Result<Assessment, ReadingError> {
    let calibration = &bench.calibration;
    if readings.len() > 1 {
        for reading in readings {
            calibration.at(*reading)?;
        }
    }
    let propagation = Propagation::new(bench, readings)?;
    let scale = &propagation.scale;

    let leak = propagation.point.leak_sensitivity();
    let relative_leak = propagation.through(&leak, scale.leak(), |point| point.leak())?;
    let hole_m =
        propagation.through(&leak, scale.hole(), |point| point.leak())?.map(|leak| calibration.hole(leak));
    let (standard_reading_pa, budget) = propagation.standard(context)?;
    let air_kg_s = propagation.flow();

    let meaning = Meaning { propagation: &propagation, context };
    let (clearance_m, gap_oil_m3_s) = meaning.gap()?;
    let hole_oil_m3_s = meaning.oil_hole()?;

    Ok(Assessment {
        readings: propagation.n_readings,
        reading_pa: propagation.mean,
        relative_leak,
        hole_m,
        standard_reading_pa,
        air_kg_s,
        clearance_m,
        gap_oil_m3_s,
        hole_oil_m3_s,
        budget,
    })
}
