use std::fmt;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::quantity::{INCH_OF_MERCURY, Pressure};

/// The accuracy grade printed on a dial.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub enum Grade {
    /// ASME B40.100 grade 4A: 0.1 % of span.
    #[serde(rename = "asme_4a")]
    Asme4A,
    /// ASME B40.100 grade 3A: 0.25 % of span.
    #[serde(rename = "asme_3a")]
    Asme3A,
    /// ASME B40.100 grade 2A: 0.5 % of span.
    #[serde(rename = "asme_2a")]
    Asme2A,
    /// ASME B40.100 grade 1A: 1 % of span.
    #[serde(rename = "asme_1a")]
    Asme1A,
    /// ASME B40.100 grade A: 2, 1, 2 % of span.
    #[serde(rename = "asme_a")]
    AsmeA,
    /// ASME B40.100 grade B: 3, 2, 3 % of span.
    #[serde(rename = "asme_b")]
    AsmeB,
    /// ASME B40.100 grade C: 4, 3, 4 % of span.
    #[serde(rename = "asme_c")]
    AsmeC,
    /// ASME B40.100 grade D: 5 % of span.
    #[serde(rename = "asme_d")]
    AsmeD,
    /// EN 837-1 class 0.1.
    #[serde(rename = "en_0_1")]
    En0_1,
    /// EN 837-1 class 0.25.
    #[serde(rename = "en_0_25")]
    En0_25,
    /// EN 837-1 class 0.6.
    #[serde(rename = "en_0_6")]
    En0_6,
    /// EN 837-1 class 1.
    #[serde(rename = "en_1")]
    En1,
    /// EN 837-1 class 1.6.
    #[serde(rename = "en_1_6")]
    En1_6,
    /// EN 837-1 class 2.5.
    #[serde(rename = "en_2_5")]
    En2_5,
    /// EN 837-1 class 4.
    #[serde(rename = "en_4")]
    En4,
}

/// The grades as they are printed on a dial, each with its limits of error over the span: in its outer quarters and in
/// its middle half. The best of each standard first, in the order of [`Grade`].
///
/// ASME B40.100 table 1 (A read; the others from memory) and EN 837-1:1996 table 11.
const GRADES: [(Grade, &str, (f64, f64)); 15] = [
    (Grade::Asme4A, "ASME 4A", (0.001, 0.001)),
    (Grade::Asme3A, "ASME 3A", (0.0025, 0.0025)),
    (Grade::Asme2A, "ASME 2A", (0.005, 0.005)),
    (Grade::Asme1A, "ASME 1A", (0.01, 0.01)),
    (Grade::AsmeA, "ASME A", (0.02, 0.01)),
    (Grade::AsmeB, "ASME B", (0.03, 0.02)),
    (Grade::AsmeC, "ASME C", (0.04, 0.03)),
    (Grade::AsmeD, "ASME D", (0.05, 0.05)),
    (Grade::En0_1, "EN 0.1", (0.001, 0.001)),
    (Grade::En0_25, "EN 0.25", (0.0025, 0.0025)),
    (Grade::En0_6, "EN 0.6", (0.006, 0.006)),
    (Grade::En1, "EN 1", (0.01, 0.01)),
    (Grade::En1_6, "EN 1.6", (0.016, 0.016)),
    (Grade::En2_5, "EN 2.5", (0.025, 0.025)),
    (Grade::En4, "EN 4", (0.04, 0.04)),
];

impl Grade {
    /// Returns every grade, the best of each standard first.
    pub fn all() -> impl Iterator<Item = Grade> {
        GRADES.iter().map(|(grade, _, _)| *grade)
    }

    /// Returns the limits of error over the span: in its outer quarters and in its middle half.
    pub fn limits(self) -> (f64, f64) {
        GRADES[self as usize].2
    }

    /// Returns how the grade is printed on a dial.
    pub fn label(self) -> &'static str {
        GRADES[self as usize].1
    }
}

impl fmt::Display for Grade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.label())
    }
}

/// The gauge's dial: its grade, its span and what can be read off it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(try_from = "DialParts")]
pub struct Dial {
    grade: Grade,
    #[serde(rename = "span_pa")]
    span: Pressure,
    #[serde(rename = "smallest_division_pa")]
    smallest_division: Pressure,
    /// What a check against a better gauge has left of its errors, which then counts in place of the grade.
    #[serde(skip_serializing_if = "Option::is_none")]
    checked: Option<DialErrors>,
}

/// The errors of a dial that a check against a better gauge has found, each the largest either way.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct DialErrors {
    /// The same at every reading, in Pa.
    pub offset_pa: Pressure,
    /// Proportional to the reading, over it.
    pub gain: f64,
    /// Its own at each place: what a straight line leaves, and the better gauge's own error, in Pa.
    pub shape_pa: Pressure,
    /// The largest difference between rising and falling, in Pa.
    pub hysteresis_pa: Pressure,
}

#[derive(Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct DialParts {
    grade: Grade,
    span_pa: Pressure,
    smallest_division_pa: Pressure,
    #[serde(default)]
    checked: Option<DialErrors>,
}

/// Why a dial cannot be.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum DialError {
    /// The span is not between 1 kPa and 1 MPa.
    #[error("a dial of {0} is not a vacuum gauge; give its whole scale, as 30 inHg")]
    Span(Pressure),
    #[error("a smallest division of {0} does not fit the dial; give the step from one mark to the next")]
    SmallestDivision(Pressure),
    #[error("the errors that a check of the dial found are more than a fifth of its scale; have it repaired")]
    Checked,
}

impl Dial {
    /// What is taken where no dial is described: grade B, 30 inHg, marks every 0.5 inHg (common practice, no source).
    pub const USUAL: Dial = Dial {
        grade: Grade::AsmeB,
        span: Pressure::constant(30.0 * INCH_OF_MERCURY),
        smallest_division: Pressure::constant(0.5 * INCH_OF_MERCURY),
        checked: None,
    };

    /// Hysteresis of a dial over its span where its grade allows as much: 0.3 inHg of 30 (common practice, no source).
    /// It may reach the limit of error (German Eichordnung, annex 16, 3.3), and is inside it (ASME B40.100, 2.3).
    const HYSTERESIS: f64 = 0.01;
    /// The limit of what differs from look to look, over the hysteresis; the needle stands at either half of it.
    const LOOK_OF_HYSTERESIS: f64 = 0.8;
    /// The same over the limit of error, for repeatability, which the grade includes (ASME B40.100, 2.3).
    const LOOK_OF_LIMIT: f64 = 0.3;
    /// Shares of the square that the grade leaves beside hysteresis and repeatability: to an offset, and to a gain.
    const OFFSET_SHARE: f64 = 0.4;
    const GAIN_SHARE: f64 = 0.4;
    /// The share of what is left then that is each place's own.
    const SHAPE_SHARE: f64 = 0.05;
    /// How far places lie from each other before their own errors no longer go together, over the span.
    const SHAPE_REACH: f64 = 0.35;

    /// Describes a dial; its span lies between 1 kPa and 1 MPa and has at least ten divisions.
    pub fn new(grade: Grade, span: Pressure, smallest_division: Pressure) -> Result<Dial, DialError> {
        if !(1e3..=1e6).contains(&span.si()) {
            return Err(DialError::Span(span));
        }
        if !(smallest_division.si() > 0.0 && smallest_division.si() <= span.si() / 10.0) {
            return Err(DialError::SmallestDivision(smallest_division));
        }
        Ok(Dial { grade, span, smallest_division, checked: None })
    }

    /// Returns the accuracy grade.
    pub fn grade(&self) -> Grade {
        self.grade
    }

    /// Returns the whole scale.
    pub fn span(&self) -> Pressure {
        self.span
    }

    /// Returns the step from one mark to the next.
    pub fn smallest_division(&self) -> Pressure {
        self.smallest_division
    }

    /// Returns how far rounding to a quarter of a division puts a reading off, either way.
    pub fn resolution(&self) -> Pressure {
        Pressure::constant(self.smallest_division.si() / 8.0)
    }

    /// Returns the mark, or the middle between two, that is nearest to a reading: what an eye can set a needle to.
    pub(crate) fn nearest_half_mark(&self, reading: Pressure) -> Pressure {
        let half = 0.5 * self.smallest_division.si();
        Pressure::constant(libm::round(reading.si() / half) * half)
    }

    /// Returns whether a reading lies nearer the middle between two marks than either of them.
    pub(crate) fn is_between_marks(&self, reading: Pressure) -> bool {
        let divisions = reading.si() / self.smallest_division.si();
        (divisions - libm::round(divisions)).abs() > 0.25
    }

    /// Takes what a check against a better gauge has found in place of the grade.
    #[must_use]
    pub fn with_errors(self, found: DialErrors) -> Dial {
        Dial { checked: Some(found), ..self }
    }

    /// Returns what a check against a better gauge has found, where there was one.
    pub fn checked(&self) -> Option<&DialErrors> {
        self.checked.as_ref()
    }

    /// Returns the limit of error at a reading, either way, that the grade allows.
    pub fn limit(&self, reading: Pressure) -> Pressure {
        Pressure::constant(self.limit_at(reading.si()))
    }

    fn limit_at(&self, vacuum: f64) -> f64 {
        let (outer, middle) = self.grade.limits();
        let place = vacuum / self.span.si();
        let share = if (0.25..=0.75).contains(&place) { middle } else { outer };
        share * self.span.si()
    }

    /// Returns the limit in Pa, either way, of an error that is the same at every reading.
    ///
    /// The standards bound the sum of all errors; none says how it is made up. Here the squares of the four limits
    /// (this, the gain's, the shape's and the look's) come at no place to more than the square of the bound. The
    /// shares are such that intervals cover what they say over the dials that `simulated::DialKind` names: common
    /// practice, no source.
    pub fn offset_limit(&self) -> f64 {
        match &self.checked {
            Some(found) => found.offset_pa.si(),
            None => (Dial::OFFSET_SHARE * self.left_beside_looks(0.5)).sqrt(),
        }
    }

    /// Returns the limit, either way, of an error proportional to the reading, over the reading.
    pub fn gain_limit(&self) -> f64 {
        match &self.checked {
            Some(found) => found.gain.abs(),
            None => {
                let (span, middle) = (self.span.si(), self.left_beside_looks(0.5));
                let at_the_end = self.left_beside_looks(1.0) - Dial::OFFSET_SHARE * middle;
                (Dial::GAIN_SHARE * middle / (0.75 * 0.75)).min(at_the_end).sqrt() / span
            }
        }
    }

    /// Returns the limit in Pa, either way, of what is the own error of a place of the scale: it does not cancel
    /// between places far from each other.
    pub fn shape_limit(&self, vacuum: f64) -> f64 {
        if let Some(found) = &self.checked {
            return found.shape_pa.si();
        }
        let (offset, gain) = (self.offset_limit(), self.gain_limit() * vacuum);
        let (limit, look) = (self.limit_at(vacuum), self.look_limit(vacuum));
        (Dial::SHAPE_SHARE * (limit * limit - offset * offset - gain * gain - look * look).max(0.0)).sqrt()
    }

    /// Returns the correlation of the own errors of two places, which falls with their distance.
    pub fn shape_correlation(&self, one: f64, other: f64) -> f64 {
        let distance = (one - other) / (Dial::SHAPE_REACH * self.span.si());
        libm::exp(-distance * distance)
    }

    /// Returns the limit in Pa, either way, of what differs from one look at the dial to the next beyond what eye and
    /// seat do: hysteresis, and the repeatability of the dial. Friction is not in it: the dial is tapped.
    pub fn look_limit(&self, vacuum: f64) -> f64 {
        match &self.checked {
            // The needle stands half of it to either side: a deviation of as much.
            Some(found) => 3.0_f64.sqrt() / 2.0 * found.hysteresis_pa.si(),
            None => {
                let (outer, middle) = self.grade.limits();
                let hysteresis = Dial::HYSTERESIS.min(outer.min(middle)) * self.span.si();
                (Dial::LOOK_OF_HYSTERESIS * hysteresis).max(Dial::LOOK_OF_LIMIT * self.limit_at(vacuum))
            }
        }
    }

    /// The square of what the grade leaves at a place of the scale beside what differs from look to look, in Pa2.
    fn left_beside_looks(&self, place: f64) -> f64 {
        let vacuum = place * self.span.si();
        let (limit, look) = (self.limit_at(vacuum), self.look_limit(vacuum));
        limit * limit - look * look
    }
}

impl TryFrom<DialParts> for Dial {
    type Error = DialError;

    fn try_from(parts: DialParts) -> Result<Dial, DialError> {
        let dial = Dial::new(parts.grade, parts.span_pa, parts.smallest_division_pa)?;
        let Some(found) = parts.checked else { return Ok(dial) };
        let largest = [found.offset_pa, found.shape_pa, found.hysteresis_pa].map(|error| error.si().abs());
        let fits = largest.into_iter().all(|error| error <= 0.2 * dial.span.si()) && found.gain.abs() <= 0.2;
        if fits { Ok(dial.with_errors(found)) } else { Err(DialError::Checked) }
    }
}
