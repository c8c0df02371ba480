use super::scale::{Scale, ScaleErrors};
use super::summary::Summary;
use super::{Bench, Budget, Estimate};
use crate::quantity::Pressure;
use crate::rig::{Calibration, OperatingPoint, ReadingError, Sensitivity};

/// Carries the errors of a bench into figures made of its readings.
pub(super) struct Propagation<'a> {
    bench: &'a Bench,
    pub(super) calibration: &'a Calibration,
    /// The rig at the mean of the readings.
    pub(super) point: OperatingPoint<'a>,
    pub(super) mean: Pressure,
    repeatability: f64,
    /// Reading of the open hose in Pa, or the mean where that is lower still.
    open: f64,
}

impl<'a> Propagation<'a> {
    pub(super) fn new(bench: &'a Bench, summary: &Summary) -> Result<Propagation<'a>, ReadingError> {
        let calibration = bench.calibration();
        let mean = summary.mean;
        let open = calibration.open_hose().si().min(mean.si());
        let point = calibration.at(mean)?;
        Ok(Propagation { bench, calibration, point, mean, repeatability: summary.deviation, open })
    }

    pub(super) fn budget(&self, figure: &Sensitivity, scale: ScaleErrors) -> Budget {
        Budget::new(self.bench, figure, self.repeatability, scale)
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
    pub(super) fn flow(&self, scale: &Scale) -> Estimate {
        let figure = self.point.flow_sensitivity().scaled(self.calibration.flow_unit());
        let spread = self.budget(&figure, scale.flow()).spread();
        let (low, high) = spread.interval(figure.value, 0.0, f64::INFINITY);
        Estimate::of(figure.value, low, high)
    }

    /// The derivatives of the standard reading, which the standard rig shows, by the errors of this one.
    pub(super) fn standard_sensitivity(&self, standard: f64) -> Result<Sensitivity, ReadingError> {
        let rig = Calibration::standard();
        let standard = rig.at(Pressure::from_si(standard).ok_or(ReadingError::Zero)?)?;
        let scale = self.calibration.orifice_over_standard() / standard.area_slope();
        Ok(self.point.area_sensitivity().scaled(scale))
    }
}
