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
    /// Returns the estimate multiplied by a factor that is not negative.
    pub fn scaled(self, factor: f64) -> Estimate {
        Estimate { value: self.value * factor, low: self.low * factor, high: self.high * factor }
    }
}
