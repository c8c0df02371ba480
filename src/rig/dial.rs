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
}

#[derive(Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct DialParts {
    grade: Grade,
    span_pa: Pressure,
    smallest_division_pa: Pressure,
}

/// Why a dial cannot be.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum DialError {
    /// The span is not between 1 kPa and 1 MPa.
    #[error("a dial of {0} is not a vacuum gauge; give its whole scale, as 30 inHg")]
    Span(Pressure),
    #[error("a smallest division of {0} does not fit the dial; give the step from one mark to the next")]
    SmallestDivision(Pressure),
}

impl Dial {
    /// What is taken where no dial is described: grade B, 30 inHg, marks every 0.5 inHg (common practice, no source).
    pub const USUAL: Dial = Dial {
        grade: Grade::AsmeB,
        span: Pressure::constant(30.0 * INCH_OF_MERCURY),
        smallest_division: Pressure::constant(0.5 * INCH_OF_MERCURY),
    };

    /// Describes a dial; its span lies between 1 kPa and 1 MPa and has at least ten divisions.
    pub fn new(grade: Grade, span: Pressure, smallest_division: Pressure) -> Result<Dial, DialError> {
        if !(1e3..=1e6).contains(&span.si()) {
            return Err(DialError::Span(span));
        }
        if !(smallest_division.si() > 0.0 && smallest_division.si() <= span.si() / 10.0) {
            return Err(DialError::SmallestDivision(smallest_division));
        }
        Ok(Dial { grade, span, smallest_division })
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

    /// Returns the limit of error at a reading, either way, that the grade allows.
    pub fn limit(&self, reading: Pressure) -> Pressure {
        let (outer, middle) = self.grade.limits();
        let place = reading.si() / self.span.si();
        let share = if (0.25..=0.75).contains(&place) { middle } else { outer };
        Pressure::constant(share * self.span.si())
    }

    /// Returns the limit in Pa, either way, of an error that is the same at every reading.
    ///
    /// The standards bound the sum of all errors. Here half of the variance that a bound allows goes to an offset (by
    /// the middle half's bound) and half to a gain (by the outer quarters' bound): common practice, no source.
    pub fn offset_limit(&self) -> f64 {
        self.grade.limits().1 * self.span.si() * std::f64::consts::FRAC_1_SQRT_2
    }

    /// Returns the limit, either way, of an error proportional to the reading, over the reading.
    pub fn gain_limit(&self) -> f64 {
        self.grade.limits().0 * std::f64::consts::FRAC_1_SQRT_2
    }
}

impl TryFrom<DialParts> for Dial {
    type Error = DialError;

    fn try_from(parts: DialParts) -> Result<Dial, DialError> {
        Dial::new(parts.grade, parts.span_pa, parts.smallest_division_pa)
    }
}
