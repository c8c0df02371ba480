//! The takes of one reading: which count, what they mean together, and whether to seat the plate again.

use thiserror::Error;

use super::{BenchState, Spot};
use crate::leak::{Advice, Assessment, Bench, Judgement, Verdict};
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

/// How the takes of one reading go together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Agreement {
    /// There is one, or they agree.
    Agree,
    /// Two of three agree, and the third is set aside.
    OddOne,
    /// No take agrees with another.
    None,
}

/// What the takes of one reading mean.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct TakesOutcome {
    /// The takes in their order, and which of them count.
    pub takes: Vec<(Pressure, bool)>,
    pub agreement: Agreement,
    /// The assessment of the takes that count.
    pub assessment: Assessment,
    /// The verdict on it; none where the circuit has no limits.
    pub judgement: Option<Judgement>,
    /// Whether the circuit is sure not to be sound, though no verdict says how bad it is.
    pub is_sure_amiss: bool,
}

impl TakesOutcome {
    /// Returns what the takes mean; where no two agree none of them counts, and their mean is nothing that was read.
    pub(crate) fn meaning(&self) -> Option<&Assessment> {
        Some(&self.assessment).filter(|_| self.agreement != Agreement::None)
    }

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
    /// Takes that differ by more than the repeatability limit of the bench do not agree: a poor seat lets air
    /// in, a plate may cover a passage, an eye may err. Of three the two that agree are averaged and the odd
    /// one is set aside. Where none agrees with another, no verdict is given; all of them count, and their
    /// scatter is in the interval.
    pub(crate) fn outcome(&self, bench: &BenchState, spot: &Spot) -> Result<TakesOutcome, TakesError> {
        let state = bench.bench().ok_or(TakesError::NotCalibrated)?;
        let (agreement, odd) = agreement(&self.readings, state.repeatability_limit());
        let takes: Vec<_> =
            self.readings.iter().enumerate().map(|(nth, reading)| (*reading, Some(nth) != odd)).collect();
        let counted: Vec<_> = takes
            .iter()
            .filter(|(_, counts)| *counts)
            .map(|(reading, _)| possible(*reading, state))
            .collect();
        let (assessment, judgement) = bench.assess(counted, spot).ok_or(TakesError::NotCalibrated)??;
        let judgement = judgement.map(|judgement| match agreement {
            Agreement::None => {
                Judgement { verdict: Verdict::Retest, advice: Some(Advice::TakesDiffer), ..judgement }
            }
            Agreement::Agree | Agreement::OddOne => judgement,
        });
        let judged = judgement.as_ref().zip(spot.limits.as_ref());
        let is_sure_amiss =
            judged.is_some_and(|(judgement, limits)| judgement.is_sure_amiss(limits, bench.confidence()));
        Ok(TakesOutcome { takes, agreement, assessment, judgement, is_sure_amiss })
    }

    /// Says whether the outcome stands: a sound circuit at once, since a poor seat can't make one; any other verdict
    /// only after seating again, and an undecided one after one more, as well as takes that do not agree. A circuit
    /// without limits is seated again too: a poor seat must not become the reading that limits are found from.
    pub(crate) fn next(&self, outcome: &TakesOutcome) -> Next {
        if self.is_trial || self.readings.len() >= MOST_TAKES {
            return Next::Enough;
        }
        let verdict = outcome.verdict();
        let is_enough = match self.readings.len() {
            _ if outcome.agreement == Agreement::None => false,
            0 | 1 => verdict.is_sound(),
            _ => verdict != Verdict::Retest,
        };
        if is_enough { Next::Enough } else { Next::Reseat }
    }
}

/// Returns what a reading can have been: eye and needle may put it above the plugged hose, and one of nothing at all
/// may be anything up to what the dial lets be seen.
fn possible(reading: Pressure, bench: &Bench) -> Pressure {
    let (least, most) = (bench.dial.resolution(), bench.calibration.plugged());
    Pressure::constant(reading.si().max(least.si()).min(most.si()))
}

/// Says how takes, three at most, go together, and which of them is the odd one.
fn agreement(readings: &[Pressure], limit: Pressure) -> (Agreement, Option<usize>) {
    let agree = |one: usize, other: usize| {
        let pair = readings.get(one).zip(readings.get(other));
        pair.is_some_and(|(one, other)| (one.si() - other.si()).abs() <= limit.si())
    };
    match readings.len() {
        0 | 1 => (Agreement::Agree, None),
        2 => (if agree(0, 1) { Agreement::Agree } else { Agreement::None }, None),
        _ => match (agree(0, 1), agree(1, 2), agree(0, 2)) {
            (false, false, false) => (Agreement::None, None),
            (true, false, false) => (Agreement::OddOne, Some(2)),
            (false, true, false) => (Agreement::OddOne, Some(0)),
            (false, false, true) => (Agreement::OddOne, Some(1)),
            // One that agrees with both others holds them together.
            _ => (Agreement::Agree, None),
        },
    }
}
