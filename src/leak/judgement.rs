use std::fmt;

use serde::{Deserialize, Serialize};

use super::{Assessment, Budget, ErrorSource, Limits, Spread};
use crate::quantity::six_digits;
use crate::rig::STANDARD_PLUGGED;

/// What the readings of a circuit say about it, or why there are none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// It holds vacuum as it should.
    Holds,
    /// It leaks more than it should and less than it must not.
    Worn,
    /// It leaks more than it may.
    Leaks,
    /// A passage that is to be open passes as much as it should.
    Right,
    /// It passes more than it may.
    Open,
    /// It passes less than it must.
    Tight,
    /// The uncertainty does not allow a verdict.
    Retest,
    /// It was read, and has no limits yet to be judged by.
    Unjudged,
    /// The unit does not have it.
    NotFitted,
}

impl Verdict {
    /// Every verdict, the gravest first.
    pub const ALL: [Verdict; 9] = [
        Verdict::Leaks,
        Verdict::Open,
        Verdict::Tight,
        Verdict::Retest,
        Verdict::Unjudged,
        Verdict::Worn,
        Verdict::Holds,
        Verdict::Right,
        Verdict::NotFitted,
    ];

    /// Returns what the readings of a test say together: the worst of them. Where the test was left before its end,
    /// what was found amiss or undecided until then stands, and nothing is held for sound. What was read is there.
    pub(crate) fn concluded(readings: &[Verdict], end: TestEnd) -> Option<Verdict> {
        match (Verdict::worst(readings.iter().copied()), end) {
            (worst, TestEnd::Whole) => worst,
            (None, TestEnd::NotFitted) => Some(Verdict::NotFitted),
            (worst, _) => worst.filter(|verdict| verdict.is_amiss() || *verdict == Verdict::Retest),
        }
    }

    /// Returns what a reading says that was left before the plate was seated again: it condemns
    /// nothing and clears nothing.
    pub(crate) fn unfinished(self) -> Verdict {
        if self == Verdict::Unjudged { self } else { Verdict::Retest }
    }

    /// Returns the worst of several verdicts: leaks before retest before unjudged before worn
    /// before holds; none of none.
    pub fn worst(verdicts: impl IntoIterator<Item = Verdict>) -> Option<Verdict> {
        let rank = |verdict: &Verdict| Verdict::ALL.iter().position(|known| known == verdict);
        verdicts.into_iter().min_by_key(rank)
    }

    /// Returns whether the circuit is as it should be.
    pub fn is_sound(self) -> bool {
        matches!(self, Verdict::Holds | Verdict::Right)
    }

    /// Returns whether the circuit is sure not to be as it should.
    pub fn is_amiss(self) -> bool {
        matches!(self, Verdict::Worn | Verdict::Leaks | Verdict::Open | Verdict::Tight)
    }
}

impl Verdict {
    /// Returns the word for it.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Holds => "holds",
            Verdict::Worn => "worn",
            Verdict::Leaks => "leaks",
            Verdict::Right => "right",
            Verdict::Open => "too open",
            Verdict::Tight => "too tight",
            Verdict::Retest => "retest",
            Verdict::Unjudged => "not judged",
            Verdict::NotFitted => "not fitted",
        }
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// How the test of a circuit ended.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) enum TestEnd {
    #[default]
    Whole,
    /// The technician could not go on.
    Left,
    /// The technician found that the unit does not have it.
    NotFitted,
}

/// A verdict with the probabilities that it rests on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Judgement {
    /// The verdict.
    pub verdict: Verdict,
    /// Probability that the standard reading lies at the lower limit or below it: that the circuit
    /// leaks, or is too open.
    pub below: f64,
    /// Probability that it lies between the limits: that the circuit is worn, or right.
    pub between: f64,
    /// Probability that it lies at the upper limit or above it: that the circuit holds, or is too tight.
    pub above: f64,
    /// What would settle it, where the verdict is `retest`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub advice: Option<Advice>,
}

/// What would turn a `retest` into a verdict: so many readings in all, or the smallest improvement that would.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Advice {
    Repeat {
        readings: u32,
    },
    Improve(ErrorSource),
    OnTheLimit,
    /// No two takes agree, so there is something else to be found first. The probabilities are those of the mean of all
    /// takes then, and nothing rests on them.
    TakesDiffer,
}

impl fmt::Display for Advice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Advice::Repeat { readings } => write!(
                f,
                "Re-seat and read again until there are {readings} readings in all; if their mean stays, that settles it."
            ),
            Advice::Improve(source) => {
                let remedy = match source {
                    ErrorSource::Repeatability => "seat the plate with more care so that readings repeat",
                    ErrorSource::Resolution => "use a gauge with finer divisions",
                    ErrorSource::Gauge => "check the gauge against a better one, or use one of a better accuracy grade",
                    ErrorSource::Calibration => "calibrate again, reading each point several times",
                    ErrorSource::Barometer => "read a barometer in the room",
                    ErrorSource::Temperature => "read a thermometer in the room",
                    ErrorSource::Kind => "say in the procedure whether it is a gap or a hole",
                    ErrorSource::Coefficient => "use a plug orifice, or a calibrated one",
                    ErrorSource::Orifice => "measure the bore of the test orifice with a pin gauge",
                };
                write!(f, "More readings do not settle it, since {source} counts most: {remedy}.")
            }
            Advice::TakesDiffer => f.write_str(
                "Something changes from one take to the next: look at plate, tip, hose and valve, and at how the needle is \
                 read, then test the circuit again.",
            ),
            Advice::OnTheLimit => f.write_str(
                "The circuit is as good as on the limit: neither more readings nor any one improvement of the bench settles it. \
                 Treat it as the poorer of the two.",
            ),
        }
    }
}

impl Judgement {
    /// Returns whether the circuit is sure not to be sound, with the probability that a verdict must reach, though not
    /// which of the other verdicts it has. Takes that do not agree make nothing sure.
    pub(crate) fn is_sure_amiss(&self, limits: &Limits, confidence: f64) -> bool {
        let shares = [self.below, self.between, self.above];
        let sound: f64 = limits
            .verdicts()
            .iter()
            .zip(shares)
            .filter(|(verdict, _)| verdict.is_sound())
            .map(|(_, p)| p)
            .sum();
        self.verdict == Verdict::Retest
            && self.advice != Some(Advice::TakesDiffer)
            && 1.0 - sound >= confidence
    }

    /// Returns it as a record holds it: probabilities in six digits.
    pub(crate) fn rounded(self) -> Judgement {
        Judgement {
            below: six_digits(self.below),
            between: six_digits(self.between),
            above: six_digits(self.above),
            ..self
        }
    }
}

/// The probability that a verdict must reach where nothing else is agreed.
pub const DEFAULT_CONFIDENCE: f64 = 0.95;

/// The most readings that advice asks for.
const MOST_READINGS: u32 = 10;

/// Sets an assessment against limits: the verdict is the one whose probability reaches `confidence` (JCGM 106), and
/// `retest` where none does.
///
/// The confidence is taken between 0.5 and 0.999; 0.95 is usual.
pub fn judge(assessment: &Assessment, limits: &Limits, confidence: f64) -> Judgement {
    let confidence = if confidence.is_nan() { DEFAULT_CONFIDENCE } else { confidence.clamp(0.5, 0.999) };
    let reading = assessment.standard_reading_pa.value;
    let probable = |budget: &Budget| {
        let spread = budget.spread();
        probabilities(limits, |standard| below(&spread, standard - reading))
    };
    let would_settle = |budget: &Budget| settled(probable(budget), confidence).is_some();
    let found = probable(&assessment.budget);
    let [(_, below), (_, between), (_, above)] = found;
    let verdict = settled(found, confidence);
    let advice = || {
        let taken = assessment.readings;
        let with_readings = |readings: u32| Budget {
            repeatability: assessment.budget.repeatability * (f64::from(taken) / f64::from(readings)).sqrt(),
            ..assessment.budget
        };
        if let Some(readings) =
            (taken + 1..=MOST_READINGS.max(taken)).find(|readings| would_settle(&with_readings(*readings)))
        {
            return Advice::Repeat { readings };
        }
        ErrorSource::ALL
            .into_iter()
            .filter(|source| would_settle(&assessment.budget.without(*source)))
            .min_by(|a, b| assessment.budget.of_source(*a).total_cmp(&assessment.budget.of_source(*b)))
            .map_or(Advice::OnTheLimit, Advice::Improve)
    };
    Judgement {
        verdict: verdict.unwrap_or(Verdict::Retest),
        below,
        between,
        above,
        advice: if verdict.is_none() { Some(advice()) } else { None },
    }
}

/// Returns the verdict alone on a standard reading in Pa whose errors are spread like this: that of [`judge`].
pub(crate) fn verdict(
    standard_reading_pa: f64,
    spread: &Spread,
    limits: &Limits,
    confidence: f64,
) -> Verdict {
    let found = probabilities(limits, |standard| below(spread, standard - standard_reading_pa));
    settled(found, confidence).unwrap_or(Verdict::Retest)
}

/// The probability that an error is at most this, up to what no record has of it: of six normal
/// deviations 1e-9 is left.
fn below(spread: &Spread, error: f64) -> f64 {
    let margin = spread.rectangle + 6.0 * spread.normal;
    match error {
        error if error <= -margin => 0.0,
        error if error >= margin => 1.0,
        error => spread.below(error),
    }
}

fn settled(probabilities: [(Verdict, f64); 3], confidence: f64) -> Option<Verdict> {
    probabilities.into_iter().find(|(_, probability)| *probability >= confidence).map(|(verdict, _)| verdict)
}

/// Probabilities that the standard reading of a perfect rig, which lies between 0 and 25 inHg, is on each side of the
/// limits, of the probability that it is below a value.
fn probabilities(limits: &Limits, below: impl Fn(f64) -> f64) -> [(Verdict, f64); 3] {
    let (bottom, top) = (below(0.0), below(STANDARD_PLUGGED.si()));
    let share = |from: f64, to: f64| ((to - from) / (top - bottom)).clamp(0.0, 1.0);
    let (lower, upper) = (below(limits.lower().si()), below(limits.upper().si()));
    let [at_lower, at_middle, at_upper] = limits.verdicts();
    // What is less probable than this, no knowledge of a gauge bears out.
    const LEAST: f64 = 1e-4;
    let shares = [share(bottom, lower), share(lower, upper), share(upper, top)]
        .map(|share| if share < LEAST { 0.0 } else { share });
    let whole: f64 = shares.iter().sum();
    let [lower, middle, upper] = shares.map(|share| share / whole);
    [(at_lower, lower), (at_middle, middle), (at_upper, upper)]
}
