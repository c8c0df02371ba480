use std::fmt;

use serde::{Deserialize, Serialize};

use super::scale::ScaleErrors;
use super::{Bench, Spread};
use crate::rig::Sensitivity;

/// Standard uncertainties of the standard reading by their source, each in Pa.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Budget {
    /// Scatter of the readings; it goes down with their number. Normal.
    pub repeatability_pa: f64,
    /// Rounding to what the dial can show. Rectangular.
    pub resolution_pa: f64,
    /// What calibration and reading do not cancel of the gauge's offset. Rectangular.
    pub offset_pa: f64,
    /// What calibration and reading do not cancel of the gauge's gain. Rectangular.
    pub gain_pa: f64,
    /// Scatter and rounding of the two calibration readings. Normal.
    pub calibration_pa: f64,
    /// Drift of the rig since its calibration. Rectangular.
    pub drift_pa: f64,
    /// The barometer. Normal.
    pub barometer_pa: f64,
    /// The discharge coefficient of the test orifice. Rectangular.
    pub coefficient_pa: f64,
    /// The coefficient of the standard rig's plug, where this rig has a plate. Rectangular.
    pub conversion_pa: f64,
    /// The bore of the test orifice. Rectangular.
    pub orifice_pa: f64,
}

/// A source of uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Source {
    /// Scatter of the readings.
    Repeatability,
    /// The dial's divisions.
    Resolution,
    /// The gauge's accuracy grade: offset and gain.
    Gauge,
    /// The calibration readings.
    Calibration,
    /// Drift since the calibration.
    Drift,
    /// The barometer.
    Barometer,
    /// The discharge coefficient of the test orifice.
    Coefficient,
    /// The bore of the test orifice.
    Orifice,
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Source::Repeatability => "the scatter of the readings",
            Source::Resolution => "the coarse divisions of the dial",
            Source::Gauge => "the accuracy grade of the gauge",
            Source::Calibration => "the scatter of the calibration readings",
            Source::Drift => "the drift allowed since the calibration",
            Source::Barometer => "the barometer",
            Source::Coefficient => "the discharge coefficient of the test orifice",
            Source::Orifice => "the bore of the test orifice",
        })
    }
}

const ROOT_3: f64 = 1.732_050_807_568_877_2;

impl Budget {
    /// Carries every error of a bench into a figure.
    pub(super) fn new(bench: &Bench, figure: &Sensitivity, repeatability: f64, scale: ScaleErrors) -> Budget {
        let dial = bench.dial();
        let resolution = dial.resolution().si() / ROOT_3;
        let single = bench.repeatability().si();
        let calibrated = figure.by_plugged * figure.by_plugged + figure.by_through * figure.by_through;
        let relative_barometer = bench.barometer_uncertainty().si() / bench.calibration().barometer().si();
        Budget {
            repeatability_pa: repeatability * figure.by_reading.abs(),
            resolution_pa: resolution * figure.by_reading.abs(),
            offset_pa: dial.offset_limit() / ROOT_3 * figure.by_offset().abs(),
            gain_pa: dial.gain_limit() / ROOT_3 * figure.by_gain.abs(),
            calibration_pa: (calibrated * (resolution * resolution + single * single)).sqrt(),
            drift_pa: bench.drift().si() / ROOT_3 * figure.by_reading.abs(),
            barometer_pa: relative_barometer * figure.by_barometer.abs(),
            coefficient_pa: scale.coefficient / ROOT_3 * figure.value,
            conversion_pa: scale.conversion / ROOT_3 * figure.value,
            orifice_pa: scale.bore / ROOT_3 * figure.value,
        }
    }

    /// Returns the distribution of the sum: the largest rectangular term as it is, all others as a normal one.
    pub fn spread(&self) -> Spread {
        let rectangular = [
            self.resolution_pa,
            self.offset_pa,
            self.gain_pa,
            self.drift_pa,
            self.coefficient_pa,
            self.conversion_pa,
            self.orifice_pa,
        ];
        let square = |term: f64| term * term;
        let (mut largest, mut sum) = (0.0, 0.0);
        for term in rectangular {
            sum += square(term);
            largest = f64::max(largest, term);
        }
        sum += square(self.repeatability_pa) + square(self.calibration_pa) + square(self.barometer_pa);
        Spread { normal: (sum - square(largest)).max(0.0).sqrt(), rectangle: largest * ROOT_3 }
    }

    /// Returns the standard uncertainty from one source.
    pub fn from_source(&self, source: Source) -> f64 {
        match source {
            Source::Repeatability => self.repeatability_pa,
            Source::Resolution => self.resolution_pa,
            Source::Gauge => joined(self.offset_pa, self.gain_pa),
            Source::Calibration => self.calibration_pa,
            Source::Drift => self.drift_pa,
            Source::Barometer => self.barometer_pa,
            Source::Coefficient => joined(self.coefficient_pa, self.conversion_pa),
            Source::Orifice => self.orifice_pa,
        }
    }

    /// Returns the budget as if one source were perfect.
    pub fn without(&self, source: Source) -> Budget {
        let mut rest = *self;
        match source {
            Source::Repeatability => rest.repeatability_pa = 0.0,
            Source::Resolution => rest.resolution_pa = 0.0,
            Source::Gauge => (rest.offset_pa, rest.gain_pa) = (0.0, 0.0),
            Source::Calibration => rest.calibration_pa = 0.0,
            Source::Drift => rest.drift_pa = 0.0,
            Source::Barometer => rest.barometer_pa = 0.0,
            Source::Coefficient => (rest.coefficient_pa, rest.conversion_pa) = (0.0, 0.0),
            Source::Orifice => rest.orifice_pa = 0.0,
        }
        rest
    }
}

impl Source {
    /// Every source.
    pub const ALL: [Source; 8] = [
        Source::Repeatability,
        Source::Resolution,
        Source::Gauge,
        Source::Calibration,
        Source::Drift,
        Source::Barometer,
        Source::Coefficient,
        Source::Orifice,
    ];
}

fn joined(one: f64, other: f64) -> f64 {
    (one * one + other * other).sqrt()
}
