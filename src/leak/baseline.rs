use thiserror::Error;

use super::{Bench, Limits};
use crate::quantity::{INCH_OF_MERCURY, Pressure};
use crate::rig::{Calibration, Dial, STANDARD_PLUGGED};
use crate::stats::{
    BELL_MISFIT_LIMIT, Summary, bell_misfit, is_least_odd, limit_rank, tolerance_factor, values_needed,
    values_needed_for_least,
};

/// What limits are to promise: this share of good units holds, with this confidence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Promise {
    share: f64,
    confidence: f64,
}

/// Limits proposed from standard readings of one circuit on units that are known to be good.
///
/// Good units say where sound circuits read, and nothing of where a circuit fails. So `holds` is a tolerance limit
/// (ISO 16269-6), and `leaks` follows from it by a rule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Baseline {
    pub promise: Promise,
    /// Number, mean, deviation, least and most of the readings, in Pa.
    pub summary: Summary,
    /// The deviation that the limit was worked out with, in Pa: no less than a dial scatters by itself.
    pub deviation: f64,
    /// What `holds` is.
    pub rule: HoldsRule,
    /// Where the least reading is an odd one out, the `holds` of all others, in Pa; none where they give none.
    pub without_odd: Option<Option<Pressure>>,
    /// Whether the readings spread like a bell.
    pub shape: Shape,
    /// The limits; none where the readings are too few or too scattered for a `holds` above 0.
    pub limits: Option<Limits>,
    /// How many good units there must be until too few of them cost `holds` one deviation at most.
    pub needed: usize,
    /// Where `holds` would lie with so many, if they read alike, in Pa; none where that is not above 0.
    pub holds_then: Option<Pressure>,
    /// How many good units there must be until the least of their readings is such a limit by itself.
    pub needed_for_least: usize,
}

/// What a `holds` proposed from good units is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum HoldsRule {
    /// The mean less this many deviations: the readings may be of a bell.
    Factor(f64),
    /// The reading of this rank from the least, whatever the distribution.
    Rank(usize),
    /// The least reading or the mean less so many deviations, whichever is lower: the readings are of no bell, and too
    /// few for a rank, so that it is not known to promise what is asked.
    Lower(f64),
}

/// What can be said of the shape of the readings' distribution.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shape {
    /// They are too few, or all the same.
    Unknown,
    /// Nothing speaks against a normal distribution.
    Bell,
    /// A normal distribution gives such readings in fewer than 5 of 100 cases.
    Doubtful,
}

#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub(crate) enum BaselineError {
    /// Share or confidence is not from 0.5 to 0.999.
    #[error("{0} is not from 0.5 to 0.999; 0.95 is usual")]
    Promise(f64),
    #[error("limits take the readings of at least two good units; read more of them")]
    TooFew,
    /// A reading is not above 0 and at most 25 inHg.
    #[error(
        "{0} is not a standard reading, which lies above 0 and goes to 25 inHg; give what a rig set to 25 \
         and 5 inHg shows"
    )]
    OffScale(Pressure),
}

impl Promise {
    /// 95 % of good units hold, with 95 % confidence.
    pub(crate) const USUAL: Promise = Promise { share: 0.95, confidence: 0.95 };

    /// Makes a promise; share and confidence lie from 0.5 to 0.999.
    ///
    /// # Errors
    /// Where one does not.
    pub(crate) fn new(share: f64, confidence: f64) -> Result<Promise, BaselineError> {
        match [share, confidence].into_iter().find(|figure| !(0.5..=0.999).contains(figure)) {
            Some(figure) => Err(BaselineError::Promise(figure)),
            None => Ok(Promise { share, confidence }),
        }
    }

    pub(crate) fn share(&self) -> f64 {
        self.share
    }

    pub(crate) fn confidence(&self) -> f64 {
        self.confidence
    }
}

/// The deviations that too few units may cost `holds` (common practice, no source).
const SLACK: f64 = 1.0;

/// A circuit is condemned where it leaks so many times what a good one may (common practice, no source): the usual pair
/// of 20 and 15 inHg is that.
const CONDEMNED: f64 = 2.0;

/// The least distance between the limits, in Pa: nearer together the usual gauge finds nothing between them.
const APART: f64 = 3.0 * INCH_OF_MERCURY;

/// Limits are proposed in steps of a tenth of an inch of mercury.
const STEP: f64 = 0.1 * INCH_OF_MERCURY;

impl Baseline {
    /// Proposes limits from standard readings, one for each good unit.
    ///
    /// # Errors
    /// Where there are fewer than two, or one is none that a circuit can give.
    pub(crate) fn of(readings: &[Pressure], promise: Promise) -> Result<Baseline, BaselineError> {
        let on_scale = |reading: &&Pressure| reading.si() > 0.0 && **reading <= STANDARD_PLUGGED;
        if let Some(reading) = readings.iter().find(|reading| !on_scale(reading)) {
            return Err(BaselineError::OffScale(*reading));
        }
        let values: Vec<f64> = readings.iter().map(|reading| reading.si()).collect();
        let summary = Summary::of(&values).ok_or(BaselineError::TooFew)?;
        let deviation = summary.deviation.ok_or(BaselineError::TooFew)?.max(least_deviation());
        let Promise { share, confidence } = promise;
        let impossible = || BaselineError::Promise(share.max(confidence));
        let shape = match bell_misfit(&values) {
            None => Shape::Unknown,
            Some(misfit) if misfit > BELL_MISFIT_LIMIT => Shape::Doubtful,
            Some(_) => Shape::Bell,
        };
        let needed = values_needed(SLACK, share, confidence).ok_or_else(impossible)?;
        let needed_for_least = values_needed_for_least(share, confidence).ok_or_else(impossible)?;
        let factor = || tolerance_factor(summary.n, share, confidence).ok_or_else(impossible);
        let rule = match (shape, limit_rank(summary.n, share, confidence)) {
            (Shape::Doubtful, Some(rank)) => HoldsRule::Rank(rank),
            (Shape::Doubtful, None) => HoldsRule::Lower(factor()?),
            (Shape::Bell | Shape::Unknown, _) => HoldsRule::Factor(factor()?),
        };
        let mut sorted = values.clone();
        sorted.sort_unstable_by(f64::total_cmp);
        let below_mean = |factor: f64| summary.mean - factor * deviation;
        let holds = match rule {
            HoldsRule::Factor(factor) => below_mean(factor),
            HoldsRule::Rank(rank) => sorted[rank - 1],
            HoldsRule::Lower(factor) => below_mean(factor).min(summary.least),
        };
        let without_odd = is_least_odd(&values).then(|| {
            let others: Vec<_> = sorted[1..].iter().filter_map(|pa| Pressure::from_si(*pa)).collect();
            let others = Baseline::of(&others, promise).ok()?;
            others.limits.map(|limits| limits.upper())
        });
        let then = tolerance_factor(needed, share, confidence).map(below_mean);
        Ok(Baseline {
            promise,
            summary,
            deviation,
            rule,
            without_odd,
            shape,
            limits: limits(holds),
            needed,
            holds_then: then.and_then(stepped),
            needed_for_least,
        })
    }

    /// Returns how many more good units are needed until too few of them cost `holds` one deviation at most.
    pub(crate) fn more(&self) -> usize {
        self.needed.saturating_sub(self.summary.n)
    }
}

/// What readings by eye scatter on the usual dial: repeatability and rounding, in Pa. Equal readings
/// are no proof of less.
fn least_deviation() -> f64 {
    let repeatability = Bench::new(Calibration::standard(), Dial::USUAL).repeatability.si();
    let rounding = Dial::USUAL.resolution().si();
    (repeatability * repeatability + rounding * rounding / 3.0).sqrt()
}

/// Makes limits of a `holds` in Pa; none where it is not above 0.
fn limits(holds: f64) -> Option<Limits> {
    let holds = stepped(holds.min(STANDARD_PLUGGED.si() - STEP))?;
    Limits::new(holds, leaks_for(holds)).ok()
}

/// Returns the standard reading at which a circuit is condemned, where nothing is known but at which it
/// holds: twice the leak, and at least 3 inHg less. It is a rule, not a finding (common practice, no source):
/// 20 inHg gives the usual 15.
pub(crate) fn leaks_for(holds: Pressure) -> Pressure {
    let standard = Calibration::standard();
    let doubled = standard.leak_at(holds).and_then(|leak| standard.reading_at(CONDEMNED * leak));
    // Where twice the leak is more than the open hose lets in, half the reading is as far down as it goes.
    let doubled = doubled.map_or(holds.si() / 2.0, |reading| reading.si());
    let apart = (holds.si() - APART).max(holds.si() / 2.0);
    stepped(doubled.min(apart)).unwrap_or(holds)
}

/// Returns a vacuum in whole steps, rounded down; none where nothing is left.
fn stepped(pa: f64) -> Option<Pressure> {
    // A millionth of a step makes up for the rounding of what is a whole number of them.
    let steps = (pa / STEP + 1e-6).floor();
    Pressure::from_si(steps * STEP).filter(|_| steps >= 1.0)
}
