use super::CalibrationGoal;
use crate::quantity::Pressure;
use crate::rig::{Calibration, Condition, Dial};

/// Leads a technician through setting both valves, reading after reading.
///
/// It keeps nothing: a course is a fold of the readings so far, and the next step follows from it. It finds leaking
/// hoses and plugs, weak pumps and stuck dials where readings do not fit, and wherever the course is thorough.
/// Pressures alone cannot tell an orifice's size, so a wrong one is found by comparison with the last calibration only,
/// and a leak of the hose that the bleed valve can take up is harmless and found on a thorough course only.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Coach {
    pub goal: CalibrationGoal,
    pub dial: Dial,
    pub(super) last: Option<Calibration>,
    pub(super) is_thorough: bool,
    /// Whether the pump is taken as it is.
    pub(super) bears_with_pump: bool,
}

impl Coach {
    pub(crate) fn new(goal: CalibrationGoal, dial: Dial) -> Coach {
        Coach { goal, dial, last: None, is_thorough: false, bears_with_pump: false }
    }

    /// Makes it go on with a pump that is weak, and whose reach the goal knows.
    pub(crate) fn bearing_with_pump(self) -> Coach {
        Coach { bears_with_pump: true, ..self }
    }

    /// Lets it compare the first pair of readings with a calibration since which nobody has turned a valve.
    pub(crate) fn since(self, last: Calibration) -> Coach {
        Coach { last: Some(last), ..self }
    }

    /// Makes it prove pump, hose and plug on the way: for a new rig, and after a change of parts.
    pub(crate) fn thorough(self) -> Coach {
        Coach { is_thorough: true, ..self }
    }

    pub(super) fn sight(&self) -> Eyesight {
        Eyesight::new(&self.dial, &self.goal)
    }

    /// The inlet valve's area at the goal, in test orifices.
    pub(super) fn inlet(&self) -> f64 {
        self.goal.areas(0.0).map_or(1.0, |areas| areas.inlet)
    }
}

/// What an eye can tell apart on this dial. A reading is taken to be right within a quarter of a division.
#[derive(Debug, Clone, Copy)]
pub(super) struct Eyesight {
    division_pa: f64,
    tolerance_pa: f64,
    dial: Dial,
}

impl Eyesight {
    pub(super) fn new(dial: &Dial, goal: &CalibrationGoal) -> Eyesight {
        Eyesight {
            division_pa: dial.smallest_division().si(),
            tolerance_pa: goal.tolerance().si(),
            dial: *dial,
        }
    }

    /// The greatest error of one reading.
    fn error_pa(&self) -> f64 {
        0.25 * self.division_pa
    }

    /// The greatest error of a reading, the dial's own included.
    pub(super) fn dial_error_pa(&self, reading: Pressure) -> f64 {
        self.dial.offset_limit() + self.dial.gain_limit() * reading.si() + self.error_pa()
    }

    /// Two readings closer than this may be one and the same needle.
    pub(super) fn same_needle(&self, one: Pressure, other: Pressure) -> bool {
        (one.si() - other.si()).abs() < self.division_pa
    }

    /// Two readings closer than this are one needle that has not moved in between.
    pub(super) fn has_not_moved(&self, one: Pressure, other: Pressure) -> bool {
        (one.si() - other.si()).abs() <= self.error_pa()
    }

    /// A needle this low may be at rest.
    pub(super) fn is_low(&self, reading: Pressure) -> bool {
        reading.si() < 2.0 * self.division_pa
    }

    /// Plugged this high, a sound rig reads several divisions lower through the orifice, wherever its valves stand.
    pub(super) fn should_differ(&self, plugged: Pressure) -> bool {
        plugged.si() > 6.0 * self.division_pa
    }

    /// A change between two readings that errors of both and a drift within tolerance do not explain.
    pub(super) fn notable_change_pa(&self) -> f64 {
        self.tolerance_pa + 2.0 * self.error_pa()
    }

    /// Twice as far above a reading as a change has to be to mean something.
    pub(super) fn notably_above(&self, reading: Pressure) -> Pressure {
        Pressure::from_si(reading.si() + 2.0 * self.notable_change_pa()).unwrap_or(reading)
    }

    /// Whether a reading missed what was asked for by more than an eye explains.
    pub(super) fn missed(&self, wanted: Pressure, reading: Pressure) -> bool {
        (wanted.si() - reading.si()).abs() > self.tolerance_pa + 2.0 * self.error_pa()
    }
}

/// The readings of one condition with the valves as they are: their sum in Pa, and how many.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Mean {
    sum: f64,
    count: u32,
}

/// How two means stand to the goal, the error of the eye considered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Nearness {
    In,
    Out,
    /// Reading this once more may decide.
    Unclear(Condition),
    /// One stands on the edge of its tolerance, and more readings will not decide.
    OnEdge,
}

/// A reading is taken this many times at most to find out on which side of the tolerance it is.
const MOST_READINGS: u32 = 3;

impl Mean {
    pub(super) fn with(self, reading: Pressure) -> Mean {
        Mean { sum: self.sum + reading.si(), count: self.count + 1 }
    }

    pub(super) fn value(&self) -> Option<Pressure> {
        Pressure::from_si(self.sum / f64::from(self.count))
    }
}

impl Nearness {
    pub(super) fn of(goal: &CalibrationGoal, sight: &Eyesight, plugged: &Mean, through: &Mean) -> Nearness {
        let sides =
            [(Condition::Plugged, plugged), (Condition::Through, through)].map(|(condition, mean)| {
                let off = mean.value().map_or(f64::INFINITY, |value| goal.off(condition, value));
                let doubt = sight.error_pa() / f64::from(mean.count);
                (condition, mean.count, off - goal.tolerance().si(), doubt)
            });
        if sides.iter().any(|(_, _, beyond, doubt)| beyond >= doubt) {
            return Nearness::Out;
        }
        let mut edges = sides.iter().filter(|(_, _, beyond, doubt)| *beyond > -doubt).peekable();
        if edges.peek().is_none() {
            return Nearness::In;
        }
        match edges.find(|(_, count, _, _)| *count < MOST_READINGS) {
            Some((condition, _, _, _)) => Nearness::Unclear(*condition),
            None => Nearness::OnEdge,
        }
    }
}
