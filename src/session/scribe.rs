use std::sync::Arc;

use crate::air::AirTemperature;
use crate::leak::{Assessment, Judgement, Limits, Memo, Travel, Verdict};
use crate::practice::graded;
use crate::procedure::Shown;
use crate::record::{
    Account, Answer, BarometerRecord, COULD_NOT_BE_DONE, CalibrationRecord, CheckRecord, Circuit,
    CircuitRecord, DecisionRecord, Event, FORMAT, FindingRecord, HoseOn, LimitsHere, Opening, Question,
    ReadingRecord, Record, Spot, TakeRecord, TakesOutcome, Told, VerdictCounts, Wants, What,
    latest_procedure, latest_program, latest_rig,
};
use crate::rig::Calibration;

/// Writes down what a walk comes to, as it comes: all that a record says beside its journal.
///
/// The live walk and the one that an audit makes again both go by it, so they differ in nothing but their desks.
#[derive(Debug, Default)]
pub(super) struct Scribe {
    technician: Option<String>,
    barometer: Option<BarometerRecord>,
    air: Option<AirTemperature>,
    calibrations: Vec<CalibrationRecord>,
    checks: Vec<CheckRecord>,
    circuits: Vec<CircuitRecord>,
    answers: Vec<u64>,
    findings: Vec<FindingRecord>,
    /// Which circuit, and what was decided about it.
    decisions: Vec<(String, String)>,
    /// The events of a calibration under way.
    observed: Vec<u64>,
    /// The events of a check under way.
    looks: Vec<u64>,
    reading: Option<UnderWay>,
    limits_here: Memo<(Limits, Travel, Calibration), Option<LimitsHere>>,
}

/// A reading of a circuit that is being taken.
#[derive(Debug)]
struct UnderWay {
    circuit: String,
    own: Spot,
    label: Option<String>,
    trial: bool,
    takes: Vec<TakeRecord>,
    outcome: Option<(TakesOutcome, Option<LimitsHere>)>,
}

impl Scribe {
    pub(super) fn told(&mut self, told: &Told) {
        match told {
            // What to do before its reading stands in the journal, as the question that it was.
            Told::Described { circuit } => self.circuits.push(CircuitRecord {
                circuit: match circuit.set_up {
                    None => Arc::clone(circuit),
                    Some(_) => Arc::new(Circuit { set_up: None, ..(**circuit).clone() }),
                },
                verdict: None,
                left: None,
                readings: Vec::new(),
            }),
            Told::NotFitted { circuit, why } => {
                if let Some(circuit) = self.circuit(circuit) {
                    circuit.left = Some(why.clone());
                    circuit.verdict = Some(Verdict::NotFitted);
                }
            }
            Told::Found { circuit, text } => {
                self.findings.push(FindingRecord { circuit: circuit.clone(), text: text.clone() });
            }
            Told::Section { .. }
            | Told::Said { .. }
            | Told::Passed { .. }
            | Told::Began { .. }
            | Told::Ended { .. } => {}
        }
    }

    /// Takes note of a question and of the event that answers it.
    pub(super) fn asked(&mut self, question: &Question, event: &Event) {
        let What::Answered { answer, .. } = &event.what else { return };
        match (&question.wants, answer) {
            (Wants::Technician, Answer::Text(text)) => self.technician = Some(text.clone()),
            (Wants::Barometer, Answer::Barometer { entered, barometer }) => {
                self.barometer = Some(BarometerRecord::of(entered, barometer));
            }
            (Wants::AirTemperature, Answer::AirTemperature { air, .. }) => self.air = Some(*air),
            (Wants::Reading { on, .. }, Answer::Quantity { .. } | Answer::AtStop(_)) => match on {
                HoseOn::Rig(_) => self.observed.push(event.n),
                HoseOn::Check(_) => self.looks.push(event.n),
                HoseOn::Circuit { label, trial, own } => {
                    let new = || UnderWay {
                        circuit: question.circuit.clone().unwrap_or_default(),
                        own: own.clone(),
                        label: label.clone(),
                        trial: *trial,
                        takes: Vec::new(),
                        outcome: None,
                    };
                    let take = TakeRecord { event: event.n, set_aside: false };
                    self.reading.get_or_insert_with(new).takes.push(take);
                }
            },
            (Wants::Decision { of, .. }, Answer::Choice(chosen)) => {
                self.decisions.push((of.clone(), chosen.clone()));
            }
            (_, Answer::Unable(why) | Answer::NotFitted(why)) => self.left(question, why),
            // Cautions and what is only to be done stand in the journal.
            (_, Answer::Confirmed) => {}
            _ => self.answers.push(event.n),
        }
    }

    pub(super) fn shown(&mut self, shown: &Shown<'_>) {
        match shown {
            Shown::Calibrated(calibration) => {
                let readings = std::mem::take(&mut self.observed);
                self.calibrations.push(CalibrationRecord::of(readings, calibration));
            }
            Shown::Checked(check) => {
                let mut looks = std::mem::take(&mut self.looks).into_iter();
                // One that is off is looked at again, and one that stays off ends the walk.
                if let (true, Some(plugged), Some(through)) = (check.is_good, looks.next(), looks.next()) {
                    let calibration = self.calibrations.len();
                    self.checks.push(CheckRecord { calibration, plugged, through });
                }
            }
            Shown::Judged { spot, calibration, outcome, more, .. } => {
                if let Some(reading) = &mut self.reading {
                    let here = spot.limits.and_then(|limits| {
                        let arguments = (limits, spot.travel(), **calibration);
                        self.limits_here.get(arguments, |(limits, travel, calibration)| {
                            LimitsHere::of(limits, travel, calibration).ok()
                        })
                    });
                    reading.outcome = Some(((*outcome).clone(), here));
                }
                if !more {
                    self.close();
                }
            }
            Shown::Concluded { circuit, verdict, .. } => self.concluded(circuit, *verdict),
            _ => {}
        }
    }

    /// Ends the reading under way and puts its outcome to its circuit.
    fn close(&mut self) {
        let Some(UnderWay { circuit, own, label, trial, mut takes, outcome: Some((outcome, limits_here)) }) =
            self.reading.take()
        else {
            return;
        };
        for (take, (_, counts)) in takes.iter_mut().zip(&outcome.takes) {
            take.set_aside = !counts;
        }
        let (calibration, check) = (self.calibrations.len(), Some(self.checks.len() + 1));
        let Some(circuit) = self.circuit(&circuit) else { return };
        circuit.readings.push(ReadingRecord {
            label,
            trial,
            calibration,
            check,
            own,
            takes,
            limits_here,
            meaning: outcome.meaning().copied().map(Assessment::rounded),
            judgement: outcome.judgement.map(Judgement::rounded),
        });
    }

    fn left(&mut self, question: &Question, reason: &str) {
        match &question.circuit {
            Some(name) => {
                self.close();
                if let Some(circuit) = self.circuit(name) {
                    circuit.left = Some(reason.to_owned());
                }
            }
            None => self.findings.push(FindingRecord {
                circuit: None,
                text: format!("{COULD_NOT_BE_DONE}{} ({reason})", question.words),
            }),
        }
    }

    fn concluded(&mut self, circuit: &str, verdict: Option<Verdict>) {
        if let Some(circuit) = self.circuit(circuit) {
            circuit.verdict = verdict;
        }
    }

    fn circuit(&mut self, name: &str) -> Option<&mut CircuitRecord> {
        self.circuits.iter_mut().find(|known| known.circuit.name == name)
    }

    /// Makes the record of a finished session.
    pub(super) fn record(self, opening: &Opening, events: Vec<Event>) -> Record {
        let Scribe { mut circuits, checks, .. } = self;
        for circuit in &mut circuits {
            let is_planned = |name| opening.plan.as_ref().is_none_or(|plan| plan.includes(name));
            if circuit.left.is_none() && !is_planned(&circuit.circuit.name) {
                circuit.left = Some("not part of the plan".to_owned());
            }
            for reading in &mut circuit.readings {
                reading.check = reading.check.filter(|check| *check <= checks.len());
            }
        }
        let offered = |of: &str| {
            let circuit = circuits.iter().find(|known| known.circuit.name == of);
            circuit.map_or(Vec::new(), |known| opening.prices.repairs_of(&known.circuit))
        };
        let decisions: Vec<_> = self
            .decisions
            .into_iter()
            .map(|(circuit, decided)| DecisionRecord { offered: offered(&circuit), circuit, decided })
            .collect();
        let grade = opening.exercise.as_ref().and_then(|_| {
            let described: Vec<Circuit> = circuits.iter().map(|known| (*known.circuit).clone()).collect();
            graded(opening, &described, &events)
        });
        // A procedure or a rig that had changed when the session was resumed is the one that it came to its end with.
        let rig = latest_rig(&events).unwrap_or(opening.rig);
        let at = |event: Option<&Event>| event.map(|event| event.at).unwrap_or_default();
        Record {
            format: FORMAT.to_owned(),
            session: opening.session.clone(),
            job: opening.job.clone(),
            mode: opening.mode,
            started: at(events.first()),
            finished: at(events.last()),
            technician: self.technician,
            program: latest_program(&events).unwrap_or(&opening.program).clone(),
            procedure: latest_procedure(&events).unwrap_or(&opening.procedure).clone(),
            rig,
            rig_is_assumed: opening.rig_is_assumed && rig == opening.rig,
            confidence: opening.confidence,
            plan: opening.plan.clone(),
            amends: opening.amends.clone(),
            barometer: self.barometer,
            air: self.air,
            calibrations: self.calibrations,
            checks,
            summary: VerdictCounts::of(&circuits),
            circuits,
            answers: self.answers,
            findings: self.findings,
            account: Account::of(&decisions, &opening.prices),
            decisions,
            grade,
            journal: events,
            digest: None,
            signer: None,
            signature: None,
        }
    }
}
