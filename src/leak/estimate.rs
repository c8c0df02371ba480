use serde::{Deserialize, Serialize};

/// A value with the ends of its 95 % interval, all in the same SI unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
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

    /// Carries value and ends through a relation that does not fall, where it has answers.
    pub(super) fn try_map(self, relation: impl Fn(f64) -> Option<f64>) -> Option<Estimate> {
        Some(Estimate { value: relation(self.value)?, low: relation(self.low)?, high: relation(self.high)? })
    }

    /// Returns the estimate of the opposite.
    pub(super) fn negated(self) -> Estimate {
        Estimate { value: -self.value, low: -self.high, high: -self.low }
    }
}
