use serde::{Deserialize, Serialize};

use super::budget::{DialErrorLimits, Scale, ScaleErrors};
use super::{Bench, Budget};
use crate::quantity::{Pressure, six_digits};
use crate::rig::{Calibration, OperatingPoint, ReadingError, STANDARD_PLUGGED, Sensitivity};

/// A value with the ends of its 95 % interval, all in the same SI unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Estimate {
    /// The best value.
    pub value: f64,
    /// The lower end, never above the value.
    pub low: f64,
    /// The upper end, never below the value.
    pub high: f64,
}

impl Estimate {
    /// A value with ends that rounding may have put on its wrong side.
    pub(super) fn of(value: f64, low: f64, high: f64) -> Estimate {
        Estimate { value, low: low.min(value), high: high.max(value) }
    }

    /// Returns the estimate multiplied by a factor that is not negative.
    pub fn scaled(self, factor: f64) -> Estimate {
        self.map(|figure| figure * factor)
    }

    /// Carries value and ends through a relation that does not fall.
    pub(super) fn map(self, relation: impl Fn(f64) -> f64) -> Estimate {
        Estimate { value: relation(self.value), low: relation(self.low), high: relation(self.high) }
    }

    /// Returns the range of both, about the middle of their values.
    pub(crate) fn with(self, other: Estimate) -> Estimate {
        Estimate {
            value: 0.5 * (self.value + other.value),
            low: self.low.min(other.low),
            high: self.high.max(other.high),
        }
    }

    /// Returns a standard reading with the interval that its budget gives it, where that is wider.
    pub(super) fn spread_by(self, budget: &Budget) -> Estimate {
        let (low, high) = budget.spread().interval(self.value, 0.0, STANDARD_PLUGGED.si());
        Estimate { low: low.min(self.low), high: high.max(self.high), ..self }
    }

    /// Returns it as a record holds it: in six digits.
    pub(super) fn rounded(self) -> Estimate {
        self.map(six_digits)
    }

    pub(super) fn negated(self) -> Estimate {
        Estimate { value: -self.value, low: -self.high, high: -self.low }
    }
}

/// Carries the errors of a bench into figures made of its readings of one state.
pub(super) struct Propagation<'a> {
    bench: &'a Bench,
    pub(super) calibration: &'a Calibration,
    pub(super) n_readings: u32,
    pub(super) mean: Pressure,
    /// Standard deviation of the mean, in Pa.
    deviation: f64,
    /// The rig at the mean of the readings.
    pub(super) point: OperatingPoint<'a>,
    /// What the test orifice leaves open there.
    pub(super) scale: Scale,
    dial: DialErrorLimits,
    /// Reading of the open hose in Pa, or the mean where that is lower still.
    open: f64,
}

impl<'a> Propagation<'a> {
    /// Takes mean and scatter of the readings.
    ///
    /// The mean of readings up to the plugged point does not round beyond it.
    pub(super) fn new(bench: &'a Bench, readings: &[Pressure]) -> Result<Propagation<'a>, ReadingError> {
        let calibration = &bench.calibration;
        let n_readings = u32::try_from(readings.len()).ok().filter(|n| *n > 0).ok_or(ReadingError::None)?;
        let n = f64::from(n_readings);
        let mean = match readings {
            [single] => *single,
            several => {
                let sum: f64 = several.iter().map(|reading| reading.si()).sum();
                Pressure::from_si((sum / n).min(calibration.plugged().si())).ok_or(ReadingError::None)?
            }
        };
        let deviation = single_deviation(readings, mean, bench) / n.sqrt();
        let open = calibration.open_hose().si().min(mean.si());
        let point = calibration.at(mean)?;
        let scale = Scale::new(calibration, &point);
        let dial = DialErrorLimits::new(&bench.dial, mean.si(), calibration);
        Ok(Propagation { bench, calibration, n_readings, mean, deviation, point, scale, dial, open })
    }

    pub(super) fn budget(&self, figure: &Sensitivity, scale: ScaleErrors) -> Budget {
        Budget::new(self.bench, figure, &self.dial, self.deviation, scale)
    }

    /// The rig at the two readings, shallow and deep, that bound the interval of a figure whose errors are those of the
    /// reading.
    pub(super) fn ends(
        &self,
        figure: &Sensitivity,
        scale: ScaleErrors,
    ) -> Result<(OperatingPoint<'a>, OperatingPoint<'a>), ReadingError> {
        let plugged = self.calibration.plugged().si();
        let spread = self.budget(&figure.referred_to_reading(), scale).spread();
        let (shallow, deep) = spread.interval(self.mean.si(), self.open, plugged);
        let at = |vacuum: f64| {
            let reading = Pressure::from_si(vacuum.clamp(self.open, plugged)).ok_or(ReadingError::Zero)?;
            self.calibration.at(reading)
        };
        Ok((at(shallow)?, at(deep)?))
    }

    /// A figure that falls with the reading, its interval carried through its relation.
    pub(super) fn through(
        &self,
        figure: &Sensitivity,
        scale: ScaleErrors,
        relation: impl Fn(&OperatingPoint) -> f64,
    ) -> Result<Estimate, ReadingError> {
        let (shallow, deep) = self.ends(figure, scale)?;
        Ok(Estimate::of(relation(&self.point), relation(&deep), relation(&shallow)))
    }

    /// Air through the leak in kg/s: nearly straight in every error, so its interval is its own; it is not negative.
    pub(super) fn flow(&self) -> Estimate {
        let figure = self.point.flow_sensitivity().scaled(self.calibration.flow_unit());
        let spread = self.budget(&figure, self.scale.flow()).spread();
        let (low, high) = spread.interval(figure.value, 0.0, f64::INFINITY);
        Estimate::of(figure.value, low, high)
    }
}

/// Standard deviation of a single reading, in Pa: what the bench repeats within, and beside it what the readings
/// scatter by beyond what that explains; of so few it is the deviation of which 1.96 reach as far as Student's
/// distribution does (JCGM 100, G.3). Nothing counts twice, and more scatter is never less.
fn single_deviation(readings: &[Pressure], mean: Pressure, bench: &Bench) -> f64 {
    let repeatability = bench.repeatability.si();
    let n = readings.len();
    if n < 2 {
        return repeatability;
    }
    let square = |number: f64| number * number;
    let squares: f64 = readings.iter().map(|reading| square(reading.si() - mean.si())).sum();
    let beyond = (squares - bench.explained_squares(n)).max(0.0) / (n as f64 - 1.0);
    (square(repeatability) + square(student_factor(n) / 1.96) * beyond).sqrt()
}

/// The 97.5 % quantile of Student's distribution for so many values: JCGM 100, table G.2, of which a row is taken for
/// every number of degrees of freedom up to the next one.
pub(super) fn student_factor(n_values: usize) -> f64 {
    const ROWS: [(usize, f64); 14] = [
        (1, 12.71),
        (2, 4.30),
        (3, 3.18),
        (4, 2.78),
        (5, 2.57),
        (6, 2.45),
        (7, 2.36),
        (8, 2.31),
        (9, 2.26),
        (10, 2.23),
        (20, 2.09),
        (50, 2.01),
        (100, 1.984),
        (1000, 1.962),
    ];
    let freedom = n_values.saturating_sub(1);
    let row = ROWS.iter().rev().find(|(row, _)| *row <= freedom);
    row.map_or(ROWS[0].1, |(_, quantile)| *quantile)
}
