use super::{Bench, Estimate, ExpectationError, expect_hole};
use crate::air::{STANDARD_PRESSURE, density};
use crate::quantity::{Length, Pressure};
use crate::rig::{DRILLS, Drill};

/// What a bench shows for a drilled hole of the test orifice's kind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurveRow {
    /// The drill that makes the hole.
    pub drill: &'static Drill,
    /// The area of the hole over that of the test orifice.
    pub leak: f64,
    /// The reading to expect, in Pa, and the interval in which 95 % of single readings fall.
    pub reading_pa: Estimate,
    /// What the standard rig would show, in Pa.
    pub standard_reading_pa: f64,
    /// Air through the hole at this reading, in m3/s at 20 °C and 101 325 Pa.
    pub air_standard_flow_m3_s: f64,
}

/// Returns what a bench shows for the holes of all drills of the table, the smallest first.
pub fn curve(bench: &Bench) -> Result<Vec<CurveRow>, ExpectationError> {
    DRILLS.iter().map(|drill| row(bench, drill)).collect()
}

fn row(bench: &Bench, drill: &'static Drill) -> Result<CurveRow, ExpectationError> {
    let calibration = bench.calibration();
    let reading_pa = expect_hole(drill.diameter(), bench)?;
    let reading = Pressure::from_si(reading_pa.value).ok_or(ExpectationError::Hole(drill.diameter()))?;
    let point = calibration.at(reading).map_err(ExpectationError::Reading)?;
    let flow = calibration.air_flow_at(reading).map_err(ExpectationError::Reading)?;
    Ok(CurveRow {
        drill,
        leak: point.leak(),
        reading_pa,
        standard_reading_pa: point.standard_reading(),
        air_standard_flow_m3_s: flow / density(STANDARD_PRESSURE, 293.15),
    })
}

/// Returns readings to expect, with their intervals, at evenly spaced holes from next to none up to a widest one.
pub fn curve_line(
    bench: &Bench,
    widest: Length,
    n_points: u32,
) -> Result<Vec<(Length, Estimate)>, ExpectationError> {
    (1..=n_points)
        .map(|point| {
            let hole = Length::from_si(widest.si() * f64::from(point) / f64::from(n_points))
                .ok_or(ExpectationError::Hole(widest))?;
            Ok((hole, expect_hole(hole, bench)?))
        })
        .collect()
}
