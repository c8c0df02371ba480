use std::fmt;

use super::propagation::Propagation;
use super::scale::{Scale, ScaleErrors};
use super::summary::Summary;
use super::{Bench, Estimate, Land};
use crate::quantity::{Length, Pressure};
use crate::rig::{Calibration, ReadingError, Sensitivity};

/// Why no reading can be expected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ExpectationError {
    /// The hole is not between nothing and the bore of the hose.
    Hole(Length),
    /// The clearance is not between nothing and a tenth of the land's bore.
    Clearance(Length),
    /// The rig shows no reading for it.
    Reading(ReadingError),
}

impl fmt::Display for ExpectationError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ExpectationError::Hole(hole) => {
                write!(
                    f,
                    "a hole of {hole} is not between none and the bore of the hose; give the drill's size"
                )
            }
            ExpectationError::Clearance(clearance) => write!(
                f,
                "a clearance of {clearance} is not between none and a tenth of the bore; \
                 give the radial one, half of what bore and land differ by"
            ),
            ExpectationError::Reading(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for ExpectationError {}

/// Returns the reading to expect of a hole of the test orifice's kind, in Pa; the interval is that in which 95 % of single
/// readings of such a hole fall.
///
/// The hole is positive and not wider than the hose, 1/4 in.
pub fn expect_hole(hole: Length, bench: &Bench) -> Result<Estimate, ExpectationError> {
    let calibration = bench.calibration();
    let share = hole.si() / calibration.orifice().diameter().si();
    if !(hole.si() > 0.0 && hole <= Calibration::HOSE) {
        return Err(ExpectationError::Hole(hole));
    }
    let reading = calibration.reading_at(share * share).map_err(ExpectationError::Reading)?;
    interval(bench, reading, |propagation, scale| {
        (propagation.point.leak_sensitivity().referred_to_reading(), scale.hole())
    })
}

/// Returns the reading to expect of a land with a radial clearance, in Pa, as [`expect_hole`] does.
///
/// The clearance is positive and at most a tenth of the bore.
pub fn expect_clearance(clearance: Length, land: &Land, bench: &Bench) -> Result<Estimate, ExpectationError> {
    let calibration = bench.calibration();
    if !(clearance.si() > 0.0 && clearance.si() <= land.diameter().si() / 10.0) {
        return Err(ExpectationError::Clearance(clearance));
    }
    let way = land.clearance(calibration);
    let room = calibration.barometer().si();
    // As the vacuum deepens the gap passes more and the rig's readings mean less: they meet once.
    let (mut shallow, mut deep) = (0.0, calibration.plugged().si());
    let mut reading = calibration.plugged();
    for _ in 0..200 {
        let middle = 0.5 * (shallow + deep);
        if middle <= shallow || middle >= deep {
            break;
        }
        reading = Pressure::from_si(middle).unwrap_or(reading);
        let drawn = calibration.air_flow_at(reading).map_err(ExpectationError::Reading)?;
        let passed = way.flow(clearance.si(), room - middle);
        if passed.is_some_and(|passed| passed < drawn) { shallow = middle } else { deep = middle }
    }
    interval(bench, reading, |propagation, scale| {
        (propagation.point.gap_sensitivity().referred_to_reading(), scale.gap())
    })
}

fn interval(
    bench: &Bench,
    reading: Pressure,
    figure: impl Fn(&Propagation, &Scale) -> (Sensitivity, ScaleErrors),
) -> Result<Estimate, ExpectationError> {
    let calibration = bench.calibration();
    let summary = Summary::new(&[reading], calibration.plugged(), bench.repeatability())
        .ok_or(ExpectationError::Reading(ReadingError::None))?;
    let propagation = Propagation::new(bench, &summary).map_err(ExpectationError::Reading)?;
    let (sensitivity, errors) = figure(&propagation, &Scale::new(calibration, propagation.point.ratio()));
    let spread = propagation.budget(&sensitivity, errors).spread();
    let (low, high) = spread.interval(reading.si(), 0.0, f64::INFINITY);
    Ok(Estimate::of(reading.si(), low, high))
}
