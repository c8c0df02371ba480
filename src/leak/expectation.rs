use thiserror::Error;

use super::budget::ScaleErrors;
use super::propagation::Propagation;
use super::travel::reading_of_clearance;
use super::{Bench, Estimate, Land};
use crate::air::{STANDARD_PRESSURE, density};
use crate::quantity::{Length, Pressure};
use crate::rig::{Calibration, DRILLS, Drill, ReadingError, Sensitivity};

#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum ExpectationError {
    #[error("a hole of {0} is not between none and the bore of the hose; give the drill's size")]
    Hole(Length),
    #[error(
        "a clearance of {0} is not between none and a tenth of the bore; give the radial one, half of what \
         bore and land differ by"
    )]
    Clearance(Length),
    #[error(transparent)]
    Reading(#[from] ReadingError),
}

/// Returns the reading to expect of a hole of the test orifice's kind, in Pa; the interval is that in which 95 % of
/// single readings of such a hole fall.
///
/// The hole is positive and not wider than the hose, 1/4 in.
pub fn expect_hole(hole: Length, bench: &Bench) -> Result<Estimate, ExpectationError> {
    let calibration = &bench.calibration;
    let share = hole.si() / calibration.orifice().diameter().si();
    if !(hole.si() > 0.0 && hole <= Calibration::HOSE) {
        return Err(ExpectationError::Hole(hole));
    }
    let reading = calibration.reading_at(share * share)?;
    interval(bench, reading, |propagation| {
        (propagation.point.leak_sensitivity().referred_to_reading(), propagation.scale.hole())
    })
}

/// Returns the reading to expect of a land with a radial clearance, in Pa, as [`expect_hole`] does.
///
/// The clearance is positive and at most a tenth of the bore.
pub fn expect_clearance(clearance: Length, land: &Land, bench: &Bench) -> Result<Estimate, ExpectationError> {
    let calibration = &bench.calibration;
    if !(clearance.si() > 0.0 && clearance.si() <= land.diameter().si() / 10.0) {
        return Err(ExpectationError::Clearance(clearance));
    }
    let reading = reading_of_clearance(*land, clearance.si(), calibration)?;
    let reading = Pressure::from_si(reading).ok_or(ReadingError::Zero)?;
    interval(bench, reading, |propagation| {
        (propagation.point.gap_sensitivity().referred_to_reading(), propagation.scale.gap())
    })
}

fn interval(
    bench: &Bench,
    reading: Pressure,
    figure: impl Fn(&Propagation) -> (Sensitivity, ScaleErrors),
) -> Result<Estimate, ExpectationError> {
    let propagation = Propagation::new(bench, &[reading])?;
    let (sensitivity, errors) = figure(&propagation);
    let spread = propagation.budget(&sensitivity, errors).spread();
    let (low, high) = spread.interval(reading.si(), 0.0, f64::INFINITY);
    Ok(Estimate::of(reading.si(), low, high))
}

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
    let calibration = &bench.calibration;
    let reading_pa = expect_hole(drill.diameter(), bench)?;
    let reading = Pressure::from_si(reading_pa.value).ok_or(ExpectationError::Hole(drill.diameter()))?;
    let point = calibration.at(reading)?;
    let flow = calibration.air_flow_at(reading)?;
    Ok(CurveRow {
        drill,
        leak: point.leak(),
        reading_pa,
        standard_reading_pa: point.standard_reading(),
        air_standard_flow_m3_s: flow / density(STANDARD_PRESSURE, 293.15),
    })
}

/// Returns readings to expect, with their intervals, at evenly spaced holes from next to none up to a widest one.
pub(crate) fn curve_line(
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
