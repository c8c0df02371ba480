use std::time::Duration;

use super::{GaugeError, Sample};

/// A gauge that reads itself.
pub trait Gauge {
    /// Forgets what has come and has not been taken: it belongs to what the hose was on before.
    fn forget(&mut self);

    /// Returns the next sample; `None` where none has come after waiting this long.
    ///
    /// After an error the gauge is of no more use.
    fn next(&mut self, wait: Duration) -> Result<Option<Sample>, GaugeError>;
}
