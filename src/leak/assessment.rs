use serde::{Deserialize, Serialize};

use super::{Budget, Estimate, Interpretation};
use crate::quantity::Pressure;

/// Everything that the readings of one state of a circuit mean. Intervals are 95 %; values are SI.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
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
    pub air_mass_flow_kg_s: Estimate,
    /// The same as volume at 20 °C and 101 325 Pa, in m3/s.
    pub air_standard_flow_m3_s: Estimate,
    /// Radial clearance of the land in m, where one was given.
    pub clearance_m: Option<Interpretation>,
    /// Oil lost at working pressure through a gap, in m3/s, where oil was given: the laminar end of the bracket.
    pub oil_flow_annulus_m3_s: Option<Interpretation>,
    /// Oil lost at working pressure through a hole, in m3/s, where oil was given: the turbulent end.
    pub oil_flow_hole_m3_s: Option<Interpretation>,
    /// Share of the pump's delivery lost through a gap, where that delivery was given.
    pub pump_share_annulus: Option<Interpretation>,
    /// Share of the pump's delivery lost through a hole.
    pub pump_share_hole: Option<Interpretation>,
    /// Standard uncertainties of the standard reading.
    pub budget: Budget,
}
