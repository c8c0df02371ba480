//! The takes of one reading: which count, what they mean together, and whether to seat the plate again.

use thiserror::Error;

use super::{BenchState, Spot};
use crate::leak::{Assessment, Judgement, Verdict, assess, judge};
use crate::quantity::{Entry, Pressure};
use crate::rig::ReadingError;

/// The most takes of one reading: the first, and two after seating again.
pub(crate) const MOST_TAKES: usize = 3;

/// The takes of one reading, each after seating the plate anew.
#[derive(Debug, Clone)]
pub(crate) struct Takes {
    is_trial: bool,
    readings: Vec<Pressure>,
}

/// What the takes of one reading mean.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct TakesOutcome {
    /// Which takes count, in the order taken.
    pub counts: Vec<bool>,
    /// The assessment of the takes that count.
    pub assessment: Assessment,
    /// The verdict on it; none where the circuit has no limits.
    pub judgement: Option<Judgement>,
}

impl TakesOutcome {
    pub(crate) fn verdict(&self) -> Verdict {
        self.judgement.map_or(Verdict::Unjudged, |judgement| judgement.verdict)
    }
}

/// What is to be done after a take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Next {
    /// Nothing more; the outcome stands.
    Enough,
    /// Seat the plate again and read again.
    Reseat,
}

/// Why takes have no outcome.
#[derive(Debug, Clone, PartialEq, Error)]
pub(crate) enum TakesError {
    #[error("the rig has not been calibrated")]
    NotCalibrated,
    #[error("the reading is not a vacuum")]
    NoPressure,
    /// A take cannot be right on this bench.
    #[error(transparent)]
    Reading(#[from] ReadingError),
}

impl Takes {
    /// Begins a reading; a trial is taken once.
    pub(crate) fn new(is_trial: bool) -> Takes {
        Takes { is_trial, readings: Vec::new() }
    }

    pub(crate) fn add(&mut self, entry: &Entry) -> Result<(), TakesError> {
        let reading = entry.quantity().and_then(|quantity| Pressure::try_from(quantity).ok());
        self.readings.push(reading.ok_or(TakesError::NoPressure)?);
        Ok(())
    }

    /// Judges the takes so far.
    ///
    /// A poor seat lets air in and can only lower a reading. So takes that lie below the highest by more than the
    /// repeatability of the bench were spoiled by the seat and are set aside; the others are averaged. Over a passage that is
    /// to be open a plate can also lie so that it covers it, which raises a reading; there the middle one of three stands in
    /// for the highest.
    pub(crate) fn outcome(&self, bench: &BenchState, spot: &Spot) -> Result<TakesOutcome, TakesError> {
        let state = bench.bench().ok_or(TakesError::NotCalibrated)?;
        let mut sorted: Vec<f64> = self.readings.iter().map(|reading| reading.si()).collect();
        sorted.sort_unstable_by(f64::total_cmp);
        let trusted = if is_window(spot) { sorted.get(sorted.len() / 2) } else { sorted.last() };
        let trusted = trusted.copied().unwrap_or_default();
        // ISO 5725-6: two results differ by more than 2.8 standard deviations in one case of twenty.
        let repeatability_limit = 2.8 * state.repeatability.si();
        let counts: Vec<_> =
            self.readings.iter().map(|r| (trusted - r.si()).abs() <= repeatability_limit).collect();
        let counted: Vec<_> = self
            .readings
            .iter()
            .zip(&counts)
            .filter(|(_, counts)| **counts)
            .map(|(reading, _)| *reading)
            .collect();
        let context = bench.context(spot.land.as_ref());
        let assessment = assess(&counted, state, &context)?;
        let judgement = spot.limits.as_ref().map(|limits| judge(&assessment, limits, bench.confidence()));
        Ok(TakesOutcome { counts, assessment, judgement })
    }

    /// Says whether the outcome stands: a sound circuit at once, any other verdict only after seating again, and an
    /// undecided one after one more, as well as one on takes of a passage that do not agree. A circuit without limits is seated
    /// again too: a poor seat must not become the reading that limits are found from.
    pub(crate) fn next(&self, outcome: &TakesOutcome) -> Next {
        if self.is_trial {
            return Next::Enough;
        }
        let verdict = outcome.verdict();
        let agree =
            !matches!(verdict, Verdict::Open | Verdict::Tight) || outcome.counts.iter().all(|counts| *counts);
        match self.readings.len() {
            MOST_TAKES.. => Next::Enough,
            _ if verdict.is_sound() => Next::Enough,
            2.. if verdict != Verdict::Retest && agree => Next::Enough,
            _ => Next::Reseat,
        }
    }
}

fn is_window(spot: &Spot) -> bool {
    spot.limits.is_some_and(|limits| limits.is_window())
}
