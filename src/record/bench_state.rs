//! What the answers so far say about the bench.

use std::cell::RefCell;

use thiserror::Error;

use super::{Answer, Asker, HoseOn, Question, RigParts, RigStep, Spot, Wants};
use crate::air::{AirTemperature, Barometer, BarometerSource};
use crate::leak::{
    Assessment, Bench, Context, DEFAULT_CONFIDENCE, Judgement, Limits, Memo, OilState, assess, judge,
};
use crate::quantity::Pressure;
use crate::rig::coaching::{CalibrationGoal, Coach, CoachReading, CoachStep, Course, GoalError, RigConcern};
use crate::rig::{Calibration, CalibrationError, Condition, Dial, DriftCheck, ReadingError};

/// What is chosen to go on with a pump as it is.
pub(crate) const GO_ON: &str = "go on with what the pump reaches";

/// What the runner's answers say about the bench: the barometer, the calibration in force and the checks of it.
///
/// The live session and the audit of its record both go through this, so they cannot disagree.
#[derive(Debug, Clone)]
pub(crate) struct BenchState {
    rig: RigParts,
    oil: Option<OilState>,
    confidence: f64,
    /// Whether a calibration proves pump, hose and plug as well.
    is_thorough: bool,
    barometer: Option<Barometer>,
    air: AirTemperature,
    /// What the readings of the calibration that is under way come to, and what is done next; `None` before the
    /// first, and after a repair.
    course: Option<(Course, CoachStep)>,
    /// The calibration before the one that is under way; nobody has turned a valve since.
    last: Option<Calibration>,
    /// As deep as the pump pulls, where one goes on with that.
    reach: Option<Pressure>,
    bench: Option<Bench>,
    /// What readings on this bench mean.
    assessed: RefCell<Memo<ReadOnce, Assessed>>,
    checked: Option<Pressure>,
    check: Option<Check>,
}

/// The readings of one state of a circuit, with what is known of it and its limits.
type ReadOnce = (Vec<Pressure>, Context, Option<Limits>);

/// What readings mean and, under limits, what follows of that.
type Assessed = Result<(Assessment, Option<Judgement>), ReadingError>;

/// A look at both points of the rig, with no valve turned since it was calibrated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Check {
    /// The reading with the hose plugged.
    pub plugged: Pressure,
    /// The reading through the test orifice.
    pub through: Pressure,
    /// Whether the plugged one is where the calibration left it, within the tolerance.
    pub is_plugged_good: bool,
    /// Whether both are.
    pub is_good: bool,
}

/// Why an answer about the rig cannot be.
#[derive(Debug, Clone, PartialEq, Error)]
pub(crate) enum BenchStateError {
    #[error(transparent)]
    Goal(#[from] GoalError),
    #[error(transparent)]
    Calibration(#[from] CalibrationError),
    #[error("the barometer is asked before the rig is read")]
    NoBarometer,
}

impl BenchState {
    /// Begins with the parts of the rig, the procedure's working conditions, and the probability that a verdict must
    /// reach.
    pub(crate) fn new(rig: RigParts, oil: Option<OilState>, confidence: f64) -> BenchState {
        BenchState {
            rig,
            oil,
            confidence,
            is_thorough: false,
            barometer: None,
            air: AirTemperature::ASSUMED,
            course: None,
            last: None,
            reach: None,
            bench: None,
            assessed: RefCell::default(),
            checked: None,
            check: None,
        }
    }

    /// Makes calibrations prove pump, hose and plug on the way.
    #[must_use]
    pub(crate) fn thorough(self, is_thorough: bool) -> BenchState {
        BenchState { is_thorough, course: None, ..self }
    }

    /// Begins a calibration anew; the one in force stays until the new one is complete.
    pub(crate) fn begin_calibration(&mut self) {
        self.course = None;
        self.last = self.calibration().copied();
    }

    /// Makes a bench of the usual parts that stands exactly on both points, 25 and 5 inHg at 101 325 Pa: for walks that
    /// measure nothing.
    pub(crate) fn exact(oil: Option<OilState>) -> BenchState {
        let rig = RigParts::USUAL;
        let mut state = BenchState::new(rig, oil, DEFAULT_CONFIDENCE);
        state.barometer = Barometer::new(BarometerSource::Standard).ok();
        state.bench = Some(Bench::new(Calibration::standard(), rig.dial));
        state
    }

    /// Makes a bench of these parts that stands on the points it is to be set to at a barometer: for what is said
    /// before anything is read. Fails where it can't be set to them.
    pub(crate) fn on_its_points(rig: RigParts, barometer: Barometer) -> Result<BenchState, BenchStateError> {
        let mut state = BenchState::new(rig, None, DEFAULT_CONFIDENCE);
        state.barometer = Some(barometer);
        let goal = state.goal()?;
        state.bench = Some(state.set_to(goal.plugged(), goal.through())?);
        Ok(state)
    }

    /// Takes in an answer; one that is not about the bench changes nothing.
    pub(crate) fn learn(&mut self, question: &Question, answer: &Answer) -> Result<(), BenchStateError> {
        let reading = |entry: &crate::quantity::Entry| Pressure::from_si(entry.si);
        match (&question.wants, answer) {
            (Wants::Barometer, Answer::Barometer { barometer, .. }) => {
                self.barometer = Some(*barometer);
                // What was read in other air says nothing in this.
                self.course = None;
            }
            (Wants::AirTemperature, Answer::AirTemperature { air, .. }) => self.air = *air,
            (Wants::Ready, Answer::Confirmed)
                if question.asker == Asker::Runner && self.is_to_be_repaired() =>
            {
                self.course = None;
                // What has changed since has been seen to; nobody is told twice.
                self.last = None;
            }
            (Wants::Choice { .. }, Answer::Choice(chosen))
                if question.asker == Asker::Runner && self.is_to_be_repaired() =>
            {
                if chosen == GO_ON {
                    self.reach = self.concern().and_then(|concern| concern.reach());
                }
                self.course = None;
                self.last = None;
            }
            (Wants::Reading { on: HoseOn::Rig(step), .. }, Answer::Quantity { entry, .. }) => {
                self.observe(*step, reading(entry), false)?;
            }
            (Wants::Reading { on: HoseOn::Rig(step), .. }, Answer::AtStop(entry)) => {
                self.observe(*step, reading(entry), true)?;
            }
            (Wants::Reading { on: HoseOn::Check(condition), .. }, Answer::Quantity { entry, .. }) => {
                self.check_point(*condition, reading(entry));
            }
            _ => {}
        }
        Ok(())
    }

    fn observe(
        &mut self,
        step: RigStep,
        reading: Option<Pressure>,
        at_stop: bool,
    ) -> Result<(), BenchStateError> {
        let Some(reading) = reading else { return Ok(()) };
        if matches!(self.coached()?, CoachStep::Settled { .. }) {
            self.begin_calibration();
        }
        let coach = self.coach()?;
        let seen = CoachReading { condition: step.condition(), reading, moved: step.moved(at_stop) };
        let before = self.course.take().map_or_else(|| coach.begin(), |(course, _)| course);
        let course = before.after(&coach, &seen);
        let step = coach.step(&course);
        self.course = Some((course, step.clone()));
        if let CoachStep::Settled { plugged, through } = step {
            self.bench = Some(self.set_to(plugged, through)?);
            self.assessed = RefCell::default();
            self.check = None;
        }
        Ok(())
    }

    /// Returns the bench of these parts that reads so plugged and through its orifice.
    fn set_to(&self, plugged: Pressure, through: Pressure) -> Result<Bench, BenchStateError> {
        let barometer = self.barometer.ok_or(BenchStateError::NoBarometer)?;
        let air = self.air.temperature();
        let calibration = Calibration::new(plugged, through, self.rig.orifice, barometer.station(), air)?;
        let calibration = calibration.with_pump(self.rig.pump.as_ref())?;
        let bench = Bench::new(calibration, self.rig.dial);
        let bench = bench.with_barometer_uncertainty(barometer.uncertainty());
        let bench = bench.with_temperature_uncertainty(self.air.uncertainty());
        // Between two good checks the rig may have drifted by what a check lets pass.
        let bench = bench.with_drift(self.goal()?.tolerance());
        Ok(match self.rig.repeatability {
            Some(measured) => bench.with_repeatability(measured),
            None => bench,
        })
    }

    fn check_point(&mut self, condition: Condition, reading: Option<Pressure>) {
        match (condition, reading, self.checked.take()) {
            (Condition::Plugged, reading, _) => self.checked = reading,
            (Condition::Through, Some(through), Some(plugged)) => {
                let is_plugged_good = self.is_undrifted(Condition::Plugged, plugged);
                let is_good = is_plugged_good && self.is_undrifted(Condition::Through, through);
                self.check = Some(Check { plugged, through, is_plugged_good, is_good });
            }
            _ => {}
        }
    }

    /// A point may be off by the tolerance of a calibration and by what an eye errs: a quarter of a division.
    fn is_undrifted(&self, condition: Condition, reading: Pressure) -> bool {
        let (Some(calibration), Ok(goal)) = (self.calibration(), self.goal()) else { return false };
        let allowed = goal.tolerance().si() + 0.25 * self.rig.dial.smallest_division().si();
        let tolerance = Pressure::from_si(allowed).unwrap_or(goal.tolerance());
        DriftCheck::of(calibration, condition, reading, goal.barometer(), tolerance).is_good()
    }

    fn goal(&self) -> Result<CalibrationGoal, BenchStateError> {
        let barometer = self.barometer.ok_or(BenchStateError::NoBarometer)?;
        let goal = CalibrationGoal::usual(barometer.station())?.on(&self.rig.dial);
        Ok(self.reach.and_then(|reach| goal.reaching(reach, &self.rig.dial)).unwrap_or(goal))
    }

    /// Returns what the rig can be set to where the pump is all that is wrong with it, and goes no deeper.
    pub(crate) fn within_reach(&self) -> Option<CalibrationGoal> {
        let reach = self.concern()?.reach()?;
        self.goal().ok()?.reaching(reach, &self.rig.dial)
    }

    /// Returns what is to be done next to calibrate the rig.
    pub(crate) fn coached(&self) -> Result<CoachStep, BenchStateError> {
        if let Some((_, step)) = &self.course {
            return Ok(step.clone());
        }
        let coach = self.coach()?;
        Ok(coach.step(&coach.begin()))
    }

    /// Returns why that is to be done, in a sentence; none where nothing can be.
    pub(crate) fn coached_because(&self) -> Option<String> {
        let coach = self.coach().ok()?;
        Some(match &self.course {
            Some((course, _)) => coach.reason(course),
            None => coach.reason(&coach.begin()),
        })
    }

    fn coach(&self) -> Result<Coach, BenchStateError> {
        let coach = Coach::new(self.goal()?, self.rig.dial);
        let coach = if self.is_thorough { coach.thorough() } else { coach };
        let coach = if self.reach.is_some() { coach.bearing_with_pump() } else { coach };
        Ok(match self.last {
            Some(last) => coach.since(last),
            None => coach,
        })
    }

    fn is_to_be_repaired(&self) -> bool {
        self.concern().is_some()
    }

    fn concern(&self) -> Option<RigConcern> {
        match self.coached().ok()? {
            CoachStep::Repair(concern) => Some(concern),
            _ => None,
        }
    }

    /// Returns the last check of the calibration in force.
    pub(crate) fn check(&self) -> Option<Check> {
        self.check
    }

    pub(crate) fn dial(&self) -> &Dial {
        &self.rig.dial
    }

    pub(crate) fn barometer(&self) -> Option<&Barometer> {
        self.barometer.as_ref()
    }

    /// Returns the highest reading that is taken of the rig, in Pa. A dial may show a little more than there is; what
    /// that means is the coach's to say.
    pub(crate) fn deepest_pa(&self) -> f64 {
        self.barometer.as_ref().map_or(f64::MAX, |barometer| 1.1 * barometer.station().si())
    }

    pub(crate) fn calibration(&self) -> Option<&Calibration> {
        self.bench.as_ref().map(|bench| &bench.calibration)
    }

    /// Returns the bench that readings are assessed on, once it is calibrated.
    pub(crate) fn bench(&self) -> Option<&Bench> {
        self.bench.as_ref()
    }

    pub(crate) fn confidence(&self) -> f64 {
        self.confidence
    }

    /// Assesses readings of one state of a circuit and judges them; none before the rig is calibrated.
    pub(crate) fn assess(&self, readings: Vec<Pressure>, spot: &Spot) -> Option<Assessed> {
        let bench = self.bench.as_ref()?;
        let arguments = (readings, self.context(spot), spot.limits);
        Some(self.assessed.borrow_mut().get(arguments, |(readings, context, limits)| {
            let assessment = assess(readings, bench, context)?;
            Ok((assessment, limits.map(|limits| judge(&assessment, &limits, self.confidence))))
        }))
    }

    /// Returns what else is known about a circuit's leak.
    pub(crate) fn context(&self, spot: &Spot) -> Context {
        spot.context(self.oil)
    }
}
