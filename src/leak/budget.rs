use std::fmt;

use serde::{Deserialize, Serialize};

use super::{Bench, Spread};
use crate::air::{CRITICAL_RATIO, PLATE_LIMIT, PLUG_CHANGE_LIMIT, PLUG_COEFFICIENT, PLUG_LIMIT};
use crate::quantity::three_digits;
use crate::rig::{Calibration, Dial, OperatingPoint, OrificeKind, Sensitivity};

/// Standard uncertainties of the standard reading by their source, each in Pa; what most rigs have none of stands only
/// where there is some.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Budget {
    /// Scatter of the readings; it goes down with their number. Normal.
    pub repeatability: f64,
    /// Rounding to what the dial can show. Rectangular.
    pub resolution: f64,
    /// What calibration and reading do not cancel of the gauge's offset. Rectangular.
    pub offset: f64,
    /// What calibration and reading do not cancel of the gauge's gain. Rectangular.
    pub gain: f64,
    /// The gauge's own errors at the three places of its scale. Taken as normal, being a sum.
    pub shape: f64,
    /// What differs on the gauge from look to look, over three looks: its hysteresis. Taken as normal, being a sum.
    pub hysteresis: f64,
    /// The critical pressure ratio of the bleed valve. Rectangular.
    pub valves: f64,
    /// Scatter and rounding of the two calibration readings. Normal.
    pub calibration: f64,
    /// Drift of the rig since its calibration. Rectangular.
    pub drift: f64,
    /// The barometer. Normal.
    pub barometer: f64,
    /// The temperature of the air. Normal.
    pub temperature: f64,
    /// Half of what a gap and a hole differ by, where nobody knows which the leak is. Rectangular.
    #[serde(default, skip_serializing_if = "is_none")]
    pub kind: f64,
    /// The discharge coefficient of the test orifice. Rectangular.
    #[serde(default, skip_serializing_if = "is_none")]
    pub coefficient: f64,
    /// The coefficient of the standard rig's plug, where this rig has a plate. Rectangular.
    #[serde(default, skip_serializing_if = "is_none")]
    pub conversion: f64,
    /// The bore of the test orifice. Rectangular.
    pub orifice: f64,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
fn is_none(term: &f64) -> bool {
    *term == 0.0
}

/// A source of uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum ErrorSource {
    Repeatability,
    Resolution,
    Gauge,
    Calibration,
    Barometer,
    Temperature,
    Kind,
    Coefficient,
    Orifice,
}

impl fmt::Display for ErrorSource {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            ErrorSource::Repeatability => "the scatter of the readings",
            ErrorSource::Resolution => "the coarse divisions of the dial",
            ErrorSource::Gauge => "the accuracy of the gauge",
            ErrorSource::Calibration => "the scatter of the calibration readings",
            ErrorSource::Barometer => "the barometer",
            ErrorSource::Temperature => "the temperature of the shop",
            ErrorSource::Kind => "whether the leak is a gap or a hole",
            ErrorSource::Coefficient => "the discharge coefficient of the test orifice",
            ErrorSource::Orifice => "the bore of the test orifice",
        })
    }
}

pub(super) const ROOT_3: f64 = 1.732_050_807_568_877_2;

impl Budget {
    /// Carries every error of a bench into a figure.
    pub(super) fn new(
        bench: &Bench,
        figure: &Sensitivity,
        dial: &DialErrorLimits,
        repeatability: f64,
        scale: ScaleErrors,
    ) -> Budget {
        let resolution = bench.dial.resolution().si() / ROOT_3;
        let single = bench.repeatability.si();
        let calibrated = figure.by_plugged * figure.by_plugged + figure.by_through * figure.by_through;
        let looks = [figure.by_reading, figure.by_plugged, figure.by_through];
        let relative_barometer = bench.barometer_uncertainty.si() / bench.calibration.barometer().si();
        Budget {
            repeatability: repeatability * figure.by_reading.abs(),
            resolution: resolution * figure.by_reading.abs(),
            offset: dial.offset / ROOT_3 * figure.by_offset().abs(),
            gain: dial.gain / ROOT_3 * figure.by_gain.abs(),
            shape: dial.shape(looks) / ROOT_3,
            hysteresis: dial.hysteresis(looks) / ROOT_3,
            valves: scale.valves / ROOT_3 * figure.value,
            calibration: (calibrated * (resolution * resolution + single * single)).sqrt(),
            drift: bench.drift.si() / ROOT_3 * figure.by_reading.abs(),
            barometer: relative_barometer * figure.by_barometer.abs(),
            temperature: scale.temperature.abs() * bench.temperature_uncertainty
                / bench.calibration.temperature().si()
                * figure.value.abs(),
            kind: 0.0,
            coefficient: scale.coefficient / ROOT_3 * figure.value,
            conversion: scale.conversion / ROOT_3 * figure.value,
            orifice: scale.bore / ROOT_3 * figure.value,
        }
    }

    /// Returns it as a record holds it: in three digits. JCGM 100, 7.2.6 has two for enough, and more where
    /// sums are made of them.
    pub(super) fn rounded(self) -> Budget {
        Budget {
            repeatability: three_digits(self.repeatability),
            resolution: three_digits(self.resolution),
            offset: three_digits(self.offset),
            gain: three_digits(self.gain),
            shape: three_digits(self.shape),
            hysteresis: three_digits(self.hysteresis),
            valves: three_digits(self.valves),
            calibration: three_digits(self.calibration),
            drift: three_digits(self.drift),
            barometer: three_digits(self.barometer),
            coefficient: three_digits(self.coefficient),
            conversion: three_digits(self.conversion),
            orifice: three_digits(self.orifice),
            kind: three_digits(self.kind),
            temperature: three_digits(self.temperature),
        }
    }

    /// Returns the distribution of the sum: the largest rectangular term as it is, all others as a normal one.
    pub fn spread(&self) -> Spread {
        let rectangular = [
            self.resolution,
            self.offset,
            self.gain,
            self.valves,
            self.drift,
            self.kind,
            self.coefficient,
            self.conversion,
            self.orifice,
        ];
        let square = |term: f64| term * term;
        let (mut largest, mut sum) = (0.0, 0.0);
        for term in rectangular {
            sum += square(term);
            largest = f64::max(largest, term);
        }
        let normal = [
            self.repeatability,
            self.shape,
            self.hysteresis,
            self.calibration,
            self.barometer,
            self.temperature,
        ];
        sum += normal.into_iter().map(square).sum::<f64>();
        Spread { normal: (sum - square(largest)).max(0.0).sqrt(), rectangle: largest * ROOT_3 }
    }

    /// Allows for not knowing of what kind the leak is, which moves the figure by so much either way; less than a
    /// pascal shows on no dial.
    pub(super) fn of_either_kind(self, half: f64) -> Budget {
        Budget { kind: if half < 1.0 { 0.0 } else { half / ROOT_3 }, ..self }
    }

    /// Returns the standard uncertainty from one source.
    pub fn of_source(mut self, source: ErrorSource) -> f64 {
        self.terms(source).into_iter().map(|term| *term * *term).sum::<f64>().sqrt()
    }

    /// Returns the budget as if one source were perfect.
    pub fn without(mut self, source: ErrorSource) -> Budget {
        self.terms(source).into_iter().for_each(|term| *term = 0.0);
        self
    }

    fn terms(&mut self, source: ErrorSource) -> Vec<&mut f64> {
        match source {
            ErrorSource::Repeatability => vec![&mut self.repeatability],
            ErrorSource::Resolution => vec![&mut self.resolution],
            ErrorSource::Gauge => {
                vec![&mut self.offset, &mut self.gain, &mut self.shape, &mut self.hysteresis]
            }
            ErrorSource::Calibration => vec![&mut self.calibration],
            ErrorSource::Barometer => vec![&mut self.barometer],
            ErrorSource::Temperature => vec![&mut self.temperature],
            ErrorSource::Kind => vec![&mut self.kind],
            ErrorSource::Coefficient => vec![&mut self.coefficient, &mut self.conversion],
            ErrorSource::Orifice => vec![&mut self.orifice],
        }
    }
}

/// The limits of a dial's errors in Pa at the three looks that a figure is made of: the reading, the plugged one and
/// the one through the orifice. They are the same for every figure of one reading.
pub(super) struct DialErrorLimits {
    offset: f64,
    /// Over the reading.
    gain: f64,
    /// Of what is each place's own.
    shape: [f64; 3],
    /// How far the own errors of two places go together: first and second, first and third, second and third.
    together: [f64; 3],
    /// Of what differs from look to look.
    look: [f64; 3],
}

impl DialErrorLimits {
    pub(super) fn new(dial: &Dial, reading: f64, calibration: &Calibration) -> DialErrorLimits {
        let places @ [here, plugged, through] =
            [reading, calibration.plugged().si(), calibration.through().si()];
        DialErrorLimits {
            offset: dial.offset_limit(),
            gain: dial.gain_limit(),
            shape: places.map(|vacuum| dial.shape_limit(vacuum)),
            together: [(here, plugged), (here, through), (plugged, through)]
                .map(|(one, other)| dial.shape_correlation(one, other)),
            look: places.map(|vacuum| dial.look_limit(vacuum)),
        }
    }

    /// Carries the own errors of three places, by their derivatives, with what they have in common.
    fn shape(&self, looks: [f64; 3]) -> f64 {
        let [a, b, c] = [0, 1, 2].map(|place| looks[place] * self.shape[place]);
        let [ab, ac, bc] = self.together;
        (a * a + b * b + c * c + 2.0 * (a * b * ab + a * c * ac + b * c * bc)).max(0.0).sqrt()
    }

    /// Carries what differs from look to look.
    fn hysteresis(&self, looks: [f64; 3]) -> f64 {
        let [a, b, c] = [0, 1, 2].map(|place| looks[place] * self.look[place]);
        (a * a + b * b + c * c).sqrt()
    }
}

impl ErrorSource {
    /// Every source. The drift that is allowed for between two looks at the rig is none: nobody at the
    /// bench can make it less.
    pub const ALL: [ErrorSource; 9] = [
        ErrorSource::Repeatability,
        ErrorSource::Resolution,
        ErrorSource::Gauge,
        ErrorSource::Calibration,
        ErrorSource::Barometer,
        ErrorSource::Temperature,
        ErrorSource::Kind,
        ErrorSource::Coefficient,
        ErrorSource::Orifice,
    ];
}

/// Limits of the independent relative errors, either way, of the scale of a figure.
#[derive(Clone, Copy)]
pub(super) struct ScaleErrors {
    pub(super) coefficient: f64,
    /// By what turns the figure into another: a plug for a plate, a liquid for air, a land for a clearance.
    pub(super) conversion: f64,
    pub(super) bore: f64,
    /// The power of the temperature of the air in the figure.
    pub(super) temperature: f64,
    /// By the critical pressure ratio of the bleed valve.
    pub(super) valves: f64,
}

/// What a test orifice leaves open of the scales of all that is measured with it.
pub(super) struct Scale {
    kind: OrificeKind,
    /// Relative limit of an area by the tolerance of the bore.
    bore: f64,
    /// Relative limit of the coefficient at the through point.
    coefficient: f64,
    /// Relative limit of the coefficient for liquids.
    liquid: f64,
    /// How much of the way from the through point to sonic flow the reading is.
    share: f64,
    /// Relative limits of an area by the bleed valve's critical ratio: as this rig shows it, and as
    /// the standard rig would.
    valves: f64,
    valves_of_both: f64,
}

const PLUG: f64 = PLUG_LIMIT / PLUG_COEFFICIENT;

impl Scale {
    pub(super) fn new(calibration: &Calibration, point: &OperatingPoint) -> Scale {
        let ratio = point.ratio();
        let (valves, valves_of_both) = point.valve_errors();
        let orifice = calibration.orifice();
        let kind = orifice.kind();
        let through = calibration.through_ratio();
        let whole = through - CRITICAL_RATIO;
        let (coefficient, liquid) = match kind {
            OrificeKind::Plug => (PLUG, PLUG),
            OrificeKind::Plate => {
                (PLATE_LIMIT / kind.coefficient(through), PLATE_LIMIT / kind.coefficient(1.0))
            }
        };
        Scale {
            kind,
            bore: 2.0 * orifice.tolerance().si() / orifice.diameter().si(),
            coefficient,
            liquid,
            share: if whole <= 0.0 { 1.0 } else { ((through - ratio) / whole).abs().min(1.0) },
            valves,
            valves_of_both,
        }
    }

    /// Of a leak in test orifices: the coefficient's change between the through point and the reading.
    pub(super) fn leak(&self) -> ScaleErrors {
        let whole = match self.kind {
            OrificeKind::Plug => PLUG_CHANGE_LIMIT,
            OrificeKind::Plate => self.coefficient,
        };
        ScaleErrors {
            coefficient: whole * self.share,
            conversion: 0.0,
            bore: 0.0,
            temperature: 0.0,
            valves: self.valves,
        }
    }

    pub(super) fn hole(&self) -> ScaleErrors {
        ScaleErrors { bore: self.bore, ..self.leak() }
    }

    /// Of an effective area over that of the standard rig's plug. The valves of both rigs are alike, so what they
    /// have in common cancels.
    pub(super) fn standard(&self) -> ScaleErrors {
        let (coefficient, conversion) = match self.kind {
            OrificeKind::Plug => (0.0, 0.0),
            OrificeKind::Plate => (self.coefficient, PLUG),
        };
        ScaleErrors {
            coefficient,
            conversion,
            bore: self.bore,
            temperature: 0.0,
            valves: self.valves_of_both,
        }
    }

    /// Of an air flow, which goes as T^-0.5.
    pub(super) fn flow(&self) -> ScaleErrors {
        ScaleErrors {
            coefficient: self.coefficient,
            conversion: 0.0,
            bore: self.bore,
            temperature: -0.5,
            valves: self.valves,
        }
    }

    /// Of what a laminar gap makes of an air flow: the flow times R T and the viscosity of air, which goes as T^0.77
    /// near room temperature (Sutherland).
    pub(super) fn gap(&self) -> ScaleErrors {
        ScaleErrors { temperature: 1.27, ..self.flow() }
    }

    pub(super) fn liquid(&self) -> ScaleErrors {
        ScaleErrors { conversion: self.liquid, ..self.hole() }
    }
}
