//! The fold: from the events of a session to its record.

use thiserror::Error;

use super::{
    Account, Answer, AnswerRecord, BarometerRecord, BenchState, BenchStateError, CalibrationRecord,
    CheckRecord, CircuitRecord, DecisionRecord, DriftRecord, Event, FORMAT, FindingRecord, HoseOn,
    LimitsHere, Next, NoteRecord, Opening, Plan, Prices, ProcedureIdentity, Question, ReadingRecord, Record,
    RigParts, RigReadingRecord, RigStep, Spot, Step, TakeRecord, Takes, TakesError, Told, VerdictCounts,
    Wants, What, latest_procedure, latest_rig,
};
use crate::leak::{TestEnd, Verdict};
use crate::rig::Condition;
use crate::rig::coaching::CoachStep;

/// Why a journal makes no record.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum FoldError {
    #[error("the journal does not begin with an opening")]
    NotOpened,
    #[error("the session is not finished")]
    NotFinished,
    /// A step of the walk names an event that is no answer.
    #[error("event {0} of the journal is not an answer")]
    NoAnswer(u64),
    /// A step is about a circuit that was not described.
    #[error("the circuit \"{0}\" was never described")]
    NoCircuit(String),
    /// An answer about the rig cannot be.
    #[error(transparent)]
    Bench(#[from] BenchStateError),
    /// A circuit's readings have no outcome.
    #[error(transparent)]
    Takes(#[from] TakesError),
}

/// Makes the record of a finished session from its journal. It reads nothing else: the same events give the same
/// record, today and in an audit.
///
/// # Errors
/// Where the events are not those of a finished session.
pub(crate) fn fold(events: &[Event]) -> Result<Record, FoldError> {
    let Some(What::Opened { opening }) = events.first().map(|event| &event.what) else {
        return Err(FoldError::NotOpened);
    };
    let Some(Event { at: finished, what: What::Finished { walk }, .. }) = events.last() else {
        return Err(FoldError::NotFinished);
    };
    // A procedure or a rig that had changed when the session was resumed is the one that it came to its end with.
    let procedure = latest_procedure(events).unwrap_or(&opening.procedure);
    let rig = latest_rig(events).unwrap_or(opening.rig);
    let mut fold = Fold::new(opening, procedure, rig, events);
    for step in walk {
        match step {
            Step::Told { told } => fold.told(told)?,
            Step::Asked { n } => fold.asked(*n)?,
        }
    }
    let notes = events.iter().filter_map(|event| match &event.what {
        What::Jotted { circuit, text } => {
            Some(NoteRecord { at: event.at, circuit: circuit.clone(), text: text.clone() })
        }
        _ => None,
    });
    let drifts = events.iter().filter_map(|event| match &event.what {
        What::Drifted { circuits, .. } => Some(DriftRecord { at: event.at, circuits: circuits.clone() }),
        _ => None,
    });
    for reading in fold.circuits.iter_mut().flat_map(|circuit| &mut circuit.readings) {
        reading.check = reading.check.filter(|check| *check <= fold.checks.len());
    }
    Ok(Record {
        format: FORMAT.to_owned(),
        session: opening.session.clone(),
        job: opening.job.clone(),
        mode: opening.mode,
        started: events[0].at,
        finished: *finished,
        technician: fold.technician,
        program: opening.program.clone(),
        procedure: procedure.clone(),
        rig,
        rig_is_assumed: opening.rig_is_assumed && rig == opening.rig,
        confidence: opening.confidence,
        plan: opening.plan.clone(),
        amends: opening.amends.clone(),
        barometer: fold.barometer,
        calibrations: fold.calibrations,
        checks: fold.checks,
        drifts: drifts.collect(),
        summary: VerdictCounts::of(&fold.circuits),
        circuits: fold.circuits,
        answers: fold.answers,
        findings: fold.findings,
        account: Account::of(&fold.decisions, &opening.prices),
        decisions: fold.decisions,
        notes: notes.collect(),
        journal: events.to_vec(),
        digest: None,
    })
}

struct Fold<'a> {
    events: &'a [Event],
    prices: &'a Prices,
    plan: Option<&'a Plan>,
    bench: BenchState,
    technician: Option<String>,
    barometer: Option<BarometerRecord>,
    observed: Vec<RigReadingRecord>,
    calibrations: Vec<CalibrationRecord>,
    checks: Vec<CheckRecord>,
    circuits: Vec<CircuitRecord>,
    answers: Vec<AnswerRecord>,
    findings: Vec<FindingRecord>,
    decisions: Vec<DecisionRecord>,
    plugged: Option<TakeRecord>,
    /// Whether the reading that was under way when its test was left had not come to its end.
    unfinished: bool,
    /// How the test under way ends.
    end: TestEnd,
    /// The reading being taken: its label, whether it is a trial, and its takes.
    open: Option<OpenReading>,
}

struct OpenReading {
    circuit: usize,
    spot: Spot,
    label: Option<String>,
    trial: bool,
    takes: Takes,
    entries: Vec<TakeRecord>,
}

impl<'a> Fold<'a> {
    fn new(
        opening: &'a Opening,
        procedure: &ProcedureIdentity,
        rig: RigParts,
        events: &'a [Event],
    ) -> Fold<'a> {
        Fold {
            events,
            prices: &opening.prices,
            plan: opening.plan.as_ref(),
            bench: BenchState::new(rig, procedure.oil, opening.confidence).thorough(procedure.sets_rig),
            technician: None,
            barometer: None,
            observed: Vec::new(),
            calibrations: Vec::new(),
            checks: Vec::new(),
            circuits: Vec::new(),
            answers: Vec::new(),
            findings: Vec::new(),
            decisions: Vec::new(),
            plugged: None,
            unfinished: false,
            end: TestEnd::default(),
            open: None,
        }
    }

    fn told(&mut self, told: &Told) -> Result<(), FoldError> {
        match told {
            Told::Section { .. } | Told::Said { .. } => {}
            Told::Described { circuit } => {
                let is_left = self.plan.is_some_and(|plan| !plan.includes(&circuit.name));
                self.circuits.push(CircuitRecord {
                    circuit: (**circuit).clone(),
                    verdict: None,
                    left: is_left.then(|| "not part of the plan".to_owned()),
                    readings: Vec::new(),
                });
            }
            Told::NotFitted { circuit, why } => {
                let at = self.circuit(circuit)?;
                self.circuits[at].verdict = Some(Verdict::NotFitted);
                self.circuits[at].left = Some(why.clone());
            }
            Told::Began { circuit } => {
                self.circuit(circuit)?;
            }
            Told::Ended { circuit } => {
                self.close()?;
                let at = self.circuit(circuit)?;
                let unfinished = std::mem::take(&mut self.unfinished);
                let end = std::mem::take(&mut self.end);
                self.circuits[at].conclude(unfinished, end);
            }
            Told::Found { circuit, text } => {
                self.findings.push(FindingRecord { circuit: circuit.clone(), text: text.clone() });
            }
        }
        Ok(())
    }

    fn asked(&mut self, n: u64) -> Result<(), FoldError> {
        let event = usize::try_from(n).ok().and_then(|n| self.events.get(n.checked_sub(1)?));
        let Some(Event { at, what: What::Answered { question, answer }, .. }) = event else {
            return Err(FoldError::NoAnswer(n));
        };
        self.bench.learn(question, answer)?;
        match (&question.wants, answer) {
            (Wants::Technician, Answer::Text { text }) => self.technician = Some(text.clone()),
            (Wants::Barometer, Answer::Barometer { entered, barometer }) => {
                self.barometer = Some(BarometerRecord::of(entered, barometer));
            }
            (Wants::Reading { on, .. }, Answer::Quantity { entry, .. }) => {
                let take = TakeRecord { event: n, at: *at, entry: entry.clone(), counts: true };
                match on {
                    HoseOn::Rig { step } => self.observed(*step, false, take)?,
                    HoseOn::Check { condition } => self.checked(*condition, take),
                    HoseOn::Circuit { label, trial, own } => {
                        self.took(question, label.as_deref(), *trial, own, take)?
                    }
                }
            }
            (Wants::Reading { on: HoseOn::Rig { step }, .. }, Answer::AtStop { entry }) => {
                let take = TakeRecord { event: n, at: *at, entry: entry.clone(), counts: true };
                self.observed(*step, true, take)?;
            }
            (Wants::Decision { of, .. }, Answer::Choice { chosen }) => {
                let offered = self.prices.repairs_of(&self.circuits[self.circuit(of)?].circuit);
                self.decisions.push(DecisionRecord { circuit: of.clone(), offered, decided: chosen.clone() });
            }
            (_, Answer::Unable { reason }) => self.left(question, reason, TestEnd::Left)?,
            (_, Answer::NotFitted { why }) => self.left(question, why, TestEnd::NotFitted)?,
            _ => self.answers.push(AnswerRecord {
                event: n,
                circuit: question.circuit.clone(),
                question: question.words.clone(),
                answer: answer.clone(),
            }),
        }
        Ok(())
    }

    /// Adds a reading of the rig; the one that settles it completes a calibration.
    fn observed(&mut self, step: RigStep, at_stop: bool, take: TakeRecord) -> Result<(), FoldError> {
        self.observed.push(RigReadingRecord { step, at_stop, take });
        if let CoachStep::Settled { .. } = self.bench.coached()?.step
            && let Some(calibration) = self.bench.calibration()
        {
            let readings = std::mem::take(&mut self.observed);
            self.calibrations.push(CalibrationRecord::of(readings, calibration));
        }
        Ok(())
    }

    /// Adds a look at one point of the rig; the second completes a check, unless the rig was off and is looked at again.
    fn checked(&mut self, condition: Condition, take: TakeRecord) {
        match (condition, self.plugged.take(), self.bench.check()) {
            (Condition::Through, Some(_), Some(check)) if !check.is_good => {}
            (Condition::Through, Some(plugged), Some(check)) => self.checks.push(CheckRecord {
                calibration: self.calibrations.len(),
                plugged,
                through: take,
                is_good: check.is_good,
            }),
            _ => self.plugged = Some(take),
        }
    }

    /// Adds a take to the reading being taken, or begins the next reading.
    fn took(
        &mut self,
        question: &Question,
        label: Option<&str>,
        trial: bool,
        own: &Spot,
        take: TakeRecord,
    ) -> Result<(), FoldError> {
        let circuit = self.circuit(question.circuit.as_deref().unwrap_or_default())?;
        let goes_on = match &self.open {
            Some(open) => {
                let outcome = open.takes.outcome(&self.bench, &open.spot)?;
                open.circuit == circuit
                    && open.label.as_deref() == label
                    && open.trial == trial
                    && open.takes.next(&outcome) == Next::Reseat
            }
            None => false,
        };
        if !goes_on {
            self.close()?;
        }
        let spot = self.circuits[circuit].circuit.spot(own);
        let open = self.open.get_or_insert_with(|| OpenReading {
            circuit,
            spot,
            label: label.map(str::to_owned),
            trial,
            takes: Takes::new(trial),
            entries: Vec::new(),
        });
        open.takes.add(&take.entry)?;
        open.entries.push(take);
        Ok(())
    }

    /// Ends the reading being taken and puts its outcome to its circuit.
    fn close(&mut self) -> Result<(), FoldError> {
        let Some(open) = self.open.take() else { return Ok(()) };
        let circuit = &mut self.circuits[open.circuit];
        let outcome = open.takes.outcome(&self.bench, &open.spot)?;
        let calibration = self.bench.calibration().ok_or(TakesError::NotCalibrated)?;
        let mut takes = open.entries;
        for (take, counts) in takes.iter_mut().zip(&outcome.counts) {
            take.counts = *counts;
        }
        let limits_here = open.spot.limits.map(|limits| LimitsHere::of(&limits, calibration));
        circuit.readings.push(ReadingRecord {
            label: open.label,
            trial: open.trial,
            calibration: self.calibrations.len(),
            check: Some(self.checks.len() + 1),
            spot: open.spot,
            takes,
            limits_here: limits_here.transpose().map_err(TakesError::Reading)?,
            meaning: outcome.assessment,
            judgement: outcome.judgement,
        });
        Ok(())
    }

    fn left(&mut self, question: &Question, reason: &str, end: TestEnd) -> Result<(), FoldError> {
        match &question.circuit {
            Some(name) => {
                let at = self.circuit(name)?;
                let open = self.open.as_ref().filter(|open| open.circuit == at && !open.trial);
                // Not yet seated and read again, a reading condemns nothing.
                self.unfinished = match open.map(|open| (open, open.takes.outcome(&self.bench, &open.spot))) {
                    Some((open, outcome)) => open.takes.next(&outcome?) != Next::Enough,
                    None => false,
                };
                self.close()?;
                self.circuits[at].left = Some(reason.to_owned());
                self.end = end;
            }
            None => self.findings.push(FindingRecord {
                circuit: None,
                text: format!("could not be done: {} ({reason})", question.words),
            }),
        }
        Ok(())
    }

    fn circuit(&self, name: &str) -> Result<usize, FoldError> {
        let at = self.circuits.iter().position(|known| known.circuit.name == name);
        at.ok_or_else(|| FoldError::NoCircuit(name.to_owned()))
    }
}

impl CircuitRecord {
    /// Draws the circuit's verdict from its readings that count; the last one decides nothing where it was `unfinished`.
    fn conclude(&mut self, unfinished: bool, end: TestEnd) {
        let mut counting: Vec<_> =
            self.readings.iter().filter(|reading| !reading.trial).map(ReadingRecord::verdict).collect();
        if let Some(last) = counting.last_mut().filter(|_| unfinished) {
            *last = last.unfinished();
        }
        self.verdict = Verdict::concluded(&counting, end);
    }
}
