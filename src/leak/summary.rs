use crate::quantity::Pressure;

/// Several readings of one state as one.
pub(super) struct Summary {
    pub(super) n_readings: u32,
    pub(super) mean: Pressure,
    /// Standard deviation of the mean, in Pa.
    pub(super) deviation: f64,
}

impl Summary {
    /// Returns mean and scatter; `None` without readings.
    ///
    /// The bench's own repeatability stands unless the readings scatter more than it explains (chi-square test at 2.5 %);
    /// then their own scatter does. The mean of readings up to the plugged point does not round beyond it.
    pub(super) fn new(readings: &[Pressure], plugged: Pressure, repeatability: Pressure) -> Option<Summary> {
        let n_readings = u32::try_from(readings.len()).ok().filter(|n| *n > 0)?;
        let n = f64::from(n_readings);
        let mean = match readings {
            [single] => *single,
            several => {
                let sum: f64 = several.iter().map(|reading| reading.si()).sum();
                Pressure::from_si((sum / n).min(plugged.si()))?
            }
        };
        let deviation = single_deviation(readings, mean, repeatability.si());
        Some(Summary { n_readings, mean, deviation: deviation / n.sqrt() })
    }
}

fn single_deviation(readings: &[Pressure], mean: Pressure, repeatability: f64) -> f64 {
    let freedom = readings.len() as f64 - 1.0;
    if freedom < 1.0 {
        return repeatability;
    }
    let square = |number: f64| number * number;
    let squares: f64 = readings.iter().map(|reading| square(reading.si() - mean.si())).sum();
    // The quantile of chi-square by Wilson and Hilferty's approximation (Proc. Natl. Acad. Sci. 17, 1931).
    let third = 2.0 / (9.0 * freedom);
    let root = 1.0 - third + 1.96 * third.sqrt();
    let quantile = freedom * root * root * root;
    let explained = squares <= quantile * repeatability * repeatability;
    if explained { repeatability } else { (squares / freedom).sqrt() }
}
