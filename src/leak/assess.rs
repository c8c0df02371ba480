use super::meaning::Meaning;
use super::scale::{Scale, joined};
use super::summary::Summary;
use super::{Assessment, Bench, Budget, Context, Estimate};
use crate::air::{self, GAS_CONSTANT, STANDARD_PRESSURE};
use crate::quantity::{INCH, Pressure};
use crate::rig::{Calibration, ReadingError, Sensitivity};

/// Share of the probability in every interval.
const COVERAGE: f64 = 0.95;

/// Bore of the test hose, beyond which no leak shows: 1/4 in; common practice, no source.
const HOSE: f64 = 0.25 * INCH;

/// Limit of the error of the air's temperature in K; common practice, no source.
const TEMPERATURE_LIMIT: f64 = 2.0;

/// Assesses the readings of one state of a circuit.
///
/// Every error is carried to first order (JCGM 100), gauge errors as common to calibration and reading. Figures that
/// curve (leak, hole, clearance, oil) have their errors referred to the reading, where the errors are nearly straight, and
/// the ends of the interval of the reading go through the monotone relations. What a perfect gauge would show lies between
/// the reading of the open hose and the plugged point; the intervals are the shortest within these bounds.
///
/// Fails where a reading cannot be that of a circuit on this rig, or there is none.
pub fn assess(readings: &[Pressure], bench: &Bench, context: &Context) -> Result<Assessment, ReadingError> {
    let calibration = bench.calibration();
    for reading in readings {
        calibration.area_at(*reading)?;
    }
    let summary =
        Summary::new(readings, calibration.plugged(), bench.repeatability()).ok_or(ReadingError::None)?;
    let mean = summary.mean;
    let scale = Scale::new(calibration, mean);
    let propagation = Propagation::new(bench, &summary)?;

    let leak = calibration.leak_sensitivity(mean)?;
    let area = calibration.area_sensitivity(mean)?;
    let relation = |reading| calibration.leak_at(reading);
    let relative_leak = propagation.through(&leak, scale.change, 0.0, relation)?;
    let hole_m =
        propagation.through(&leak, scale.change, scale.bore, relation)?.map(|leak| calibration.hole(leak));
    let against_standard = scale.against_standard;
    let standard_reading_pa = propagation
        .through(&area, against_standard, scale.bore, |reading| {
            Ok(-calibration.standard_reading(reading)?.si())
        })?
        .negated();
    let air_mass_flow_kg_s = propagation.flow(&scale)?;

    let meaning = Meaning { propagation: &propagation, scale: &scale, context };
    let clearance_m = meaning.clearance()?;
    let oil_flow_annulus_m3_s = meaning.oil_annulus(clearance_m)?;
    let oil_flow_hole_m3_s = meaning.oil_hole()?;

    Ok(Assessment {
        readings: summary.n_readings,
        reading_pa: mean,
        relative_leak,
        hole_m,
        standard_reading_pa,
        air_mass_flow_kg_s,
        air_standard_flow_m3_s: air_mass_flow_kg_s.scaled(1.0 / air::density(STANDARD_PRESSURE, 293.15)),
        clearance_m,
        oil_flow_annulus_m3_s,
        oil_flow_hole_m3_s,
        pump_share_annulus: meaning.pump_share(oil_flow_annulus_m3_s),
        pump_share_hole: meaning.pump_share(oil_flow_hole_m3_s),
        budget: propagation.budget(
            &area.referred_to_reading().scaled(propagation.standard_slope(standard_reading_pa.value)?),
            against_standard,
            scale.bore,
        ),
    })
}

/// Carries the errors of a bench into figures made of its readings.
pub(super) struct Propagation<'a> {
    bench: &'a Bench,
    pub(super) calibration: &'a Calibration,
    pub(super) mean: Pressure,
    repeatability: f64,
    /// Reading of the open hose in Pa, or the mean where that is lower still.
    open: f64,
}

impl Propagation<'_> {
    fn new<'a>(bench: &'a Bench, summary: &Summary) -> Result<Propagation<'a>, ReadingError> {
        let calibration = bench.calibration();
        let hose = HOSE / calibration.orifice().diameter().si();
        let open = calibration.reading_of_area(hose * hose)?.si().min(summary.mean.si());
        Ok(Propagation { bench, calibration, mean: summary.mean, repeatability: summary.deviation, open })
    }

    fn budget(&self, figure: &Sensitivity, coefficient: f64, bore: f64) -> Budget {
        Budget::new(self.bench, figure, self.repeatability, coefficient, bore)
    }

    /// The readings, shallow and deep, that bound the interval of a figure whose errors are those of the reading.
    pub(super) fn ends(&self, figure: &Sensitivity, coefficient: f64, bore: f64) -> (Pressure, Pressure) {
        let plugged = self.calibration.plugged().si();
        let spread = self.budget(&figure.referred_to_reading(), coefficient, bore).spread();
        let (low, high) = spread.interval(self.mean.si(), self.open, plugged, COVERAGE);
        let pressure = |si: f64| Pressure::from_si(si.clamp(self.open, plugged)).unwrap_or(self.mean);
        (pressure(low), pressure(high))
    }

    /// A figure that falls with the reading, its interval carried through its relation.
    pub(super) fn through<E>(
        &self,
        figure: &Sensitivity,
        coefficient: f64,
        bore: f64,
        relation: impl Fn(Pressure) -> Result<f64, E>,
    ) -> Result<Estimate, E> {
        let (shallow, deep) = self.ends(figure, coefficient, bore);
        let value = relation(self.mean)?;
        Ok(Estimate { value, low: relation(deep)?.min(value), high: relation(shallow)?.max(value) })
    }

    /// Air through the leak in kg/s: nearly straight in every error, so its interval is its own; it is not negative.
    fn flow(&self, scale: &Scale) -> Result<Estimate, ReadingError> {
        let figure = self.flow_sensitivity()?;
        let temperature = TEMPERATURE_LIMIT / (2.0 * self.calibration.temperature().si());
        let spread = self.budget(&figure, joined(scale.coefficient, temperature), scale.bore).spread();
        let (low, high) = spread.interval(figure.value, 0.0, f64::INFINITY, COVERAGE);
        Ok(Estimate { value: figure.value, low, high })
    }

    fn flow_sensitivity(&self) -> Result<Sensitivity, ReadingError> {
        Ok(self.calibration.flow_sensitivity(self.mean)?.scaled(flow_unit(self.calibration)))
    }

    /// Air through the leak in kg/s at a reading.
    pub(super) fn flow_at(&self, reading: Pressure) -> Result<f64, ReadingError> {
        Ok(self.calibration.flow_at(reading)? * flow_unit(self.calibration))
    }

    /// Slope of the standard reading over the reading: both are taken for the same area.
    fn standard_slope(&self, standard: f64) -> Result<f64, ReadingError> {
        let standard = Pressure::from_si(standard).ok_or(ReadingError::Zero)?;
        let here = self.calibration.area_slope(self.mean)? * self.calibration.orifice_over_standard();
        Ok(here / Calibration::standard().area_slope(standard)?)
    }
}

/// Effective area of the test orifice at its through point over sqrt(R T).
fn flow_unit(calibration: &Calibration) -> f64 {
    let through = calibration.ratio(calibration.through());
    calibration.orifice().effective_area(through) / (GAS_CONSTANT * calibration.temperature().si()).sqrt()
}
