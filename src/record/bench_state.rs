use super::{Answer, HoseOn, Question, RigParts, Wants};
use crate::air::{Barometer, BarometerSource};
use crate::leak::{Bench, Context, DEFAULT_CONFIDENCE, Land, OilState};
use crate::quantity::{Pressure, Temperature};
use crate::rig::{Calibration, CalibrationError};

/// Air temperature that is assumed; the leak does not depend on it, the mass flow as its square root.
pub const ASSUMED_AIR: Temperature = Temperature::constant(293.15);

/// What the runner's answers say about the bench: barometer and calibration in force.
///
/// The live session and the fold of its journal both go through this, so they cannot disagree.
#[derive(Debug, Clone)]
pub struct BenchState {
    rig: RigParts,
    oil: Option<OilState>,
    barometer: Option<Barometer>,
    plugged: Option<Pressure>,
    bench: Option<Bench>,
    confidence: f64,
}

impl BenchState {
    /// Begins with the parts of the rig, the procedure's working conditions, and the probability that a verdict must
    /// reach.
    pub fn new(rig: RigParts, oil: Option<OilState>, confidence: f64) -> BenchState {
        BenchState { rig, oil, barometer: None, plugged: None, bench: None, confidence }
    }

    /// Makes a bench of the usual parts that stands exactly on both points, 25 and 5 inHg at 101 325 Pa: for walks that
    /// measure nothing.
    pub fn exact(oil: Option<OilState>) -> BenchState {
        let rig = RigParts::USUAL;
        let calibration = Calibration::standard();
        BenchState {
            rig,
            oil,
            barometer: Barometer::new(BarometerSource::Standard).ok(),
            plugged: Some(calibration.plugged()),
            bench: Some(Bench::new(calibration, rig.dial)),
            confidence: DEFAULT_CONFIDENCE,
        }
    }

    /// Takes in an answer; one that is not about the bench changes nothing.
    ///
    /// # Errors
    /// What is wrong with a pair of calibration readings.
    pub fn learn(&mut self, question: &Question, answer: &Answer) -> Result<(), CalibrationError> {
        match (&question.wants, answer) {
            (Wants::Barometer, Answer::Barometer { barometer, .. }) => self.barometer = Some(*barometer),
            (Wants::Reading { on: HoseOn::Plug, .. }, Answer::Quantity { entry }) => {
                self.plugged = Pressure::from_si(entry.si);
            }
            (Wants::Reading { on: HoseOn::Orifice, .. }, Answer::Quantity { entry }) => {
                if let (Some(plugged), Some(through), Some(barometer)) =
                    (self.plugged, Pressure::from_si(entry.si), &self.barometer)
                {
                    let orifice = self.rig.orifice;
                    let calibration =
                        Calibration::new(plugged, through, orifice, barometer.station(), ASSUMED_AIR)?;
                    let bench = Bench::new(calibration, self.rig.dial);
                    let bench = bench.with_barometer_uncertainty(barometer.uncertainty()).unwrap_or(bench);
                    self.bench = Some(bench);
                }
            }
            _ => {}
        }
        Ok(())
    }

    /// Returns the barometer, once it is known.
    pub fn barometer(&self) -> Option<&Barometer> {
        self.barometer.as_ref()
    }

    /// Returns the plugged point that was read last.
    pub fn plugged(&self) -> Option<Pressure> {
        self.plugged
    }

    /// Returns the parts of the rig.
    pub fn rig(&self) -> &RigParts {
        &self.rig
    }

    /// Returns the calibration in force, once there is one.
    pub fn calibration(&self) -> Option<&Calibration> {
        self.bench.as_ref().map(Bench::calibration)
    }

    /// Returns the bench that readings are assessed on, once it is calibrated.
    pub fn bench(&self) -> Option<&Bench> {
        self.bench.as_ref()
    }

    /// Returns the probability that a verdict must reach.
    pub fn confidence(&self) -> f64 {
        self.confidence
    }

    /// Returns what else is known about a circuit's leak.
    pub fn context(&self, land: Option<&Land>) -> Context {
        Context { land: land.copied(), oil: self.oil }
    }
}
