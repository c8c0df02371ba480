use super::Goal;
use crate::quantity::Pressure;
use crate::rig::Dial;

/// What an eye can tell apart on this dial. A reading is taken to be right within a quarter of a division.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sight {
    division_pa: f64,
    tolerance_pa: f64,
    dial: Dial,
}

impl Sight {
    pub(super) fn new(dial: &Dial, goal: &Goal) -> Sight {
        Sight { division_pa: dial.smallest_division().si(), tolerance_pa: goal.tolerance().si(), dial: *dial }
    }

    /// The greatest error of one reading.
    pub(super) fn error_pa(&self) -> f64 {
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
