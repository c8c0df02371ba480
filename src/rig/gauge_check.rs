use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::{Dial, DialErrors};
use crate::quantity::Pressure;

/// A check of the gauge against a better one on the same hose, up the scale and down again, tapped at each point.
///
/// What it finds of the gauge's errors counts in place of its grade. Readings are not corrected.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct GaugeCheck {
    /// How far the better gauge may be off, either way.
    #[serde(rename = "reference_limit_pa")]
    pub reference_limit: Pressure,
    pub points: Vec<CheckPoint>,
}

/// Both gauges at one vacuum.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct CheckPoint {
    /// What the better gauge shows.
    #[serde(rename = "reference_pa")]
    pub reference: Pressure,
    /// What this one shows there on the way up.
    #[serde(rename = "rising_pa")]
    pub rising: Pressure,
    /// The same on the way down.
    #[serde(rename = "falling_pa")]
    pub falling: Pressure,
}

/// Why a check says nothing about a gauge.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub(crate) enum GaugeCheckError {
    #[error(
        "a check takes {least} points at least, and this has {found}; read both gauges at more places, up and down"
    )]
    TooFew { least: usize, found: usize },
    #[error(
        "the points go from {from} to {to}; they have to reach from a quarter of the scale or less to three quarters or more"
    )]
    Reach { from: Pressure, to: Pressure },
    #[error("at {0} of the better gauge this one is off by more than a tenth of its scale; have it repaired")]
    Broken(Pressure),
    #[error(
        "a gauge that may be off by {0} is no better than this one's grade; take a better one to check it by"
    )]
    NoBetter(Pressure),
}

impl GaugeCheck {
    /// EN 837-1 has classes 1 to 4 tested at five points or more.
    const LEAST_POINTS: usize = 5;

    /// Returns the dial as the check found it.
    ///
    /// The errors midway between rising and falling are those of a straight line (least squares) and what it
    /// leaves. The largest of what it leaves, the better gauge's own error and the rounding of what was read here
    /// are each place's own.
    pub(crate) fn of(&self, dial: Dial) -> Result<Dial, GaugeCheckError> {
        let span = dial.span().si();
        if self.points.len() < GaugeCheck::LEAST_POINTS {
            return Err(GaugeCheckError::TooFew {
                least: GaugeCheck::LEAST_POINTS,
                found: self.points.len(),
            });
        }
        let off = |point: &CheckPoint, shown: Pressure| shown.si() - point.reference.si();
        let is_broken = |point: &&CheckPoint| {
            [point.rising, point.falling].into_iter().any(|shown| off(point, shown).abs() > 0.1 * span)
        };
        if let Some(broken) = self.points.iter().find(is_broken) {
            return Err(GaugeCheckError::Broken(broken.reference));
        }
        let (outer, middle) = dial.grade().limits();
        if self.reference_limit.si() >= outer.min(middle) * span {
            return Err(GaugeCheckError::NoBetter(self.reference_limit));
        }
        let errors: Vec<(f64, f64)> = self
            .points
            .iter()
            .map(|point| (point.reference.si(), 0.5 * (off(point, point.rising) + off(point, point.falling))))
            .collect();
        let (from, to) = errors
            .iter()
            .fold((f64::INFINITY, 0.0_f64), |(from, to), (place, _)| (from.min(*place), to.max(*place)));
        if from > 0.25 * span || to < 0.75 * span {
            let (from, to) = (Pressure::constant(from), Pressure::constant(to));
            return Err(GaugeCheckError::Reach { from, to });
        }
        let (offset, gain) = line(&errors);
        let left =
            errors.iter().map(|(place, error)| (error - offset - gain * place).abs()).fold(0.0, f64::max);
        let hysteresis = self.points.iter().map(|point| (point.rising.si() - point.falling.si()).abs());
        Ok(dial.with_errors(DialErrors {
            offset_pa: Pressure::constant(offset.abs()),
            gain: gain.abs(),
            shape_pa: Pressure::constant(left + self.reference_limit.si() + dial.resolution().si()),
            hysteresis_pa: Pressure::constant(hysteresis.fold(0.0, f64::max)),
        }))
    }
}

/// Returns offset and slope of the straight line through points by least squares; their places differ.
fn line(points: &[(f64, f64)]) -> (f64, f64) {
    let n = points.len() as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / n;
    let (place, error) = (mean(|point| point.0), mean(|point| point.1));
    let squares: f64 = points.iter().map(|point| (point.0 - place) * (point.0 - place)).sum();
    let products: f64 = points.iter().map(|point| (point.0 - place) * (point.1 - error)).sum();
    let gain = products / squares;
    (error - gain * place, gain)
}
