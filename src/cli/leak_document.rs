use std::collections::BTreeMap;

use serde::Serialize;

use crate::leak::{Assessment, Estimate, Interpretation};
use crate::quantity::Pressure;
use crate::rig::{Calibration, ReadingError};

/// What a reading means, as the command prints it in JSON: each figure with its 95 % interval, in SI.
#[derive(Debug, Serialize)]
pub(super) struct Found {
    reading_pa: Pressure,
    relative_leak: Estimate,
    hole_m: Estimate,
    standard_reading_pa: Estimate,
    air_mass_flow_kg_s: Estimate,
    air_standard_flow_m3_s: Estimate,
    #[serde(skip_serializing_if = "Option::is_none")]
    clearance_m: Option<Estimate>,
    #[serde(skip_serializing_if = "Option::is_none")]
    oil_flow_annulus_m3_s: Option<Estimate>,
    #[serde(skip_serializing_if = "Option::is_none")]
    oil_flow_hole_m3_s: Option<Estimate>,
    /// What figures rest on, by their names.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    assumptions: BTreeMap<&'static str, String>,
    /// Why there is no figure, by its name.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    out_of_domain: BTreeMap<&'static str, String>,
}

impl Found {
    pub(super) fn of(assessment: &Assessment) -> Found {
        let mut assumptions = BTreeMap::new();
        let mut out_of_domain = BTreeMap::new();
        let mut figure = |name: &'static str, meaning: Option<Interpretation>| match meaning? {
            Interpretation::Value { estimate, assumption } => {
                assumptions.insert(name, assumption.to_string());
                Some(estimate)
            }
            Interpretation::OutOfDomain { why } => {
                out_of_domain.insert(name, why.to_string());
                None
            }
        };
        Found {
            reading_pa: assessment.reading_pa,
            relative_leak: assessment.relative_leak,
            hole_m: assessment.hole_m,
            standard_reading_pa: assessment.standard_reading_pa,
            air_mass_flow_kg_s: assessment.air_mass_flow_kg_s,
            air_standard_flow_m3_s: assessment.air_standard_flow_m3_s,
            clearance_m: figure("clearance_m", assessment.clearance_m),
            oil_flow_annulus_m3_s: figure("oil_flow_annulus_m3_s", assessment.oil_flow_annulus_m3_s),
            oil_flow_hole_m3_s: figure("oil_flow_hole_m3_s", assessment.oil_flow_hole_m3_s),
            assumptions,
            out_of_domain,
        }
    }
}

/// What to expect of a hole or a clearance, as the command prints it in JSON.
#[derive(Debug, Serialize)]
pub(super) struct Expected {
    /// The reading, and the range in which 95 of 100 single readings fall.
    expected_reading_pa: Estimate,
    relative_leak: f64,
    standard_reading_pa: Pressure,
}

impl Expected {
    pub(super) fn of(calibration: &Calibration, reading: Estimate) -> Result<Expected, ReadingError> {
        let at = Pressure::from_si(reading.value).ok_or(ReadingError::None)?;
        Ok(Expected {
            expected_reading_pa: reading,
            relative_leak: calibration.leak_at(at)?,
            standard_reading_pa: calibration.standard_reading(at)?,
        })
    }
}
