use serde::Serialize;

use super::{Goal, Plan, Setting};
use crate::quantity::Pressure;
use crate::rig::{Calibration, Dial};

/// What one pair of readings says about the valves, and what to do next.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairAdvice {
    /// The inlet valve's effective area over the test orifice's.
    pub inlet_relative: f64,
    /// The bleed valve's effective area over the test orifice's.
    pub bleed_relative: f64,
    /// Whether both readings are within tolerance of their targets.
    pub settled: bool,
    /// The reading to reach with the hose plugged.
    pub target_plugged_pa: Pressure,
    /// The reading to reach through the test orifice.
    pub target_through_pa: Pressure,
    /// What to set, in this order; empty where settled.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub next: Vec<Setting>,
}

impl PairAdvice {
    /// Makes the advice for the pair of a calibration.
    pub fn new(calibration: &Calibration, goal: &Goal, dial: &Dial) -> PairAdvice {
        let (plugged, through) = (calibration.plugged(), calibration.through());
        let settled = goal.is_met_by(plugged, through);
        let plan = if settled { None } else { Plan::best(goal, dial, plugged, through) };
        PairAdvice {
            inlet_relative: calibration.inlet_relative(),
            bleed_relative: calibration.bleed_relative(),
            settled,
            target_plugged_pa: goal.plugged(),
            target_through_pa: goal.through(),
            next: plan.map(|plan| plan.settings).unwrap_or_default(),
        }
    }
}
