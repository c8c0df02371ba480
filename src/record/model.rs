//! The record as a document.

use std::sync::Arc;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::opening::is_false;
use super::{
    Account, Amendment, Answer, Circuit, DecisionRecord, Event, Mark, Mode, Opening, Photo, Plan,
    ProcedureIdentity, Question, RigParts, SignerKey, Spot, What, taken_over_by,
};
use crate::air::{AirTemperature, Barometer};
use crate::leak::{Assessment, Judgement, Limits, Travel, Verdict};
use crate::quantity::{Entry, six_digits};
use crate::rig::{Calibration, ReadingError};

pub(crate) const FORMAT: &str = "spoolproof/record/2";

/// What a finished session leaves: a pure function of its journal, which it carries, with the procedure's texts in it.
///
/// Each thing stands in it once: what was asked and entered, and when, in the journal, whose events the rest names by
/// their numbers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Record {
    /// The format of the document and its number.
    pub format: String,
    /// The session's name.
    pub session: String,
    /// What the shop knows the job by; none where nobody said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
    /// Whether a bench or a simulated rig answered.
    pub mode: Mode,
    /// When the session was opened.
    #[cfg_attr(test, schemars(with = "String"))]
    pub started: Timestamp,
    /// When the procedure came to its end.
    #[cfg_attr(test, schemars(with = "String"))]
    pub finished: Timestamp,
    /// Who tested.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub technician: Option<String>,
    /// Version of the program.
    pub program: String,
    /// The procedure and every file of it.
    pub procedure: ProcedureIdentity,
    /// The parts of the rig that enter the figures.
    pub rig: RigParts,
    /// Whether nobody had described the rig, so that the usual one was taken for it.
    #[serde(default, skip_serializing_if = "is_false")]
    pub rig_is_assumed: bool,
    /// Probability that a verdict must reach.
    pub confidence: f64,
    /// Which circuits were to be tested, and why; none where all were.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plan: Option<Plan>,
    /// The record that this one amends.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub amends: Option<Amendment>,
    /// The barometer.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub barometer: Option<BarometerRecord>,
    /// The temperature of the air at the bench.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub air: Option<AirTemperature>,
    /// The calibrations, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub calibrations: Vec<CalibrationRecord>,
    /// The checks of them, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub checks: Vec<CheckRecord>,
    /// How many circuits got which verdict.
    pub summary: VerdictCounts,
    /// The circuits, in the order described.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub circuits: Vec<CircuitRecord>,
    /// The procedure's other questions that were answered with more than that it is done, in order, by the numbers of
    /// their events.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub answers: Vec<u64>,
    /// What was concluded, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub findings: Vec<FindingRecord>,
    /// What was decided about circuits that do not hold.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub decisions: Vec<DecisionRecord>,
    /// What the decisions cost and save.
    pub account: Account,
    /// What a student's work at an exercise is worth; none where nobody is graded.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grade: Option<Mark>,
    /// The journal.
    #[cfg_attr(test, schemars(with = "Vec<super::line::Line<'static>>"))]
    pub journal: Vec<Event>,
    /// SHA-256 over the text of the record up to this line, in hexadecimal.
    pub digest: Option<String>,
    /// Who signed it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub signer: Option<SignerKey>,
    /// The signature (Ed25519) over the canonical form of format, digest and signer, in hexadecimal.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub signature: Option<String>,
}

impl Record {
    /// Returns the events that gave the answers of the walk to the end, in order.
    pub fn answers_in_order(&self) -> impl Iterator<Item = &Event> {
        let walk = match self.journal.last().map(|event| &event.what) {
            Some(What::Finished { walk }) => walk.as_slice(),
            _ => &[],
        };
        walk.iter().filter_map(|n| self.event(*n))
    }

    /// Returns what was settled before the first question; none in a record that was put together by hand.
    pub(crate) fn opening(&self) -> Option<&Opening> {
        match &self.journal.first()?.what {
            What::Opened { opening } => Some(opening),
            _ => None,
        }
    }

    /// Returns an event of the journal by its number.
    pub(crate) fn event(&self, n: u64) -> Option<&Event> {
        self.journal.get(usize::try_from(n).ok()?.checked_sub(1)?)
    }

    /// Returns a question and its answer by the number of the event.
    pub(crate) fn answered(&self, n: u64) -> Option<(&Question, &Answer)> {
        match &self.event(n)?.what {
            What::Answered { question, answer } => Some((question, answer)),
            _ => None,
        }
    }

    /// Returns what was read at the gauge by the number of the event, and when.
    pub(crate) fn read_at(&self, n: u64) -> Option<(&Entry, Timestamp)> {
        match self.answered(n)?.1 {
            Answer::Quantity { entry, .. } | Answer::AtStop(entry) => Some((entry, self.event(n)?.at)),
            _ => None,
        }
    }

    /// Returns who tested, in order: who said so at the beginning, and those who took the session over.
    pub(crate) fn technicians(&self) -> Vec<&str> {
        let mut names: Vec<&str> = Vec::new();
        let took_over = taken_over_by(&self.journal).map(|(_, name)| name);
        for name in self.technician.iter().chain(took_over) {
            if !names.iter().any(|known| known.eq_ignore_ascii_case(name)) {
                names.push(name);
            }
        }
        names
    }

    /// Returns who tested in a phrase, as in `Ada and Bo`; none where nobody said.
    pub(crate) fn tested_by(&self) -> Option<String> {
        let names = self.technicians();
        (!names.is_empty()).then(|| names.join(" and "))
    }

    /// Returns who tested when the event of this number came.
    pub(crate) fn technician_at(&self, n: u64) -> Option<&str> {
        let took_over = taken_over_by(&self.journal).take_while(|(at, _)| *at < n).last();
        took_over.map(|(_, name)| name).or(self.technician.as_ref()).map(String::as_str)
    }

    /// Returns what the technician jotted down, each with the circuit under test, where there was one.
    pub(crate) fn notes(&self) -> impl Iterator<Item = (Option<&str>, &str)> {
        self.journal.iter().filter_map(|event| match &event.what {
            What::Jotted { circuit, text } => Some((circuit.as_deref(), text.as_str())),
            _ => None,
        })
    }

    /// Returns the photos that the technician took, each with when, and the circuit under test, where there was one.
    pub(crate) fn photos(&self) -> impl Iterator<Item = (&Event, Option<&str>, &Photo)> {
        self.journal.iter().filter_map(|event| match &event.what {
            What::Photographed { circuit, photo } => Some((event, circuit.as_deref(), photo)),
            _ => None,
        })
    }
}

/// The barometer as it was entered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct BarometerRecord {
    /// As entered.
    pub entered: String,
    /// What was entered.
    pub barometer: Barometer,
    /// The station pressure that follows, in Pa.
    pub station_pa: f64,
}

impl BarometerRecord {
    pub(crate) fn of(entered: &str, barometer: &Barometer) -> BarometerRecord {
        BarometerRecord {
            entered: entered.to_owned(),
            barometer: *barometer,
            station_pa: barometer.station().si(),
        }
    }
}

/// Readings that set the rig's scale, and what they say of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CalibrationRecord {
    /// Every reading taken on the way, in order, by the numbers of their events.
    pub readings: Vec<u64>,
    /// Where the plugged point settled, in Pa.
    pub plugged_pa: f64,
    /// Where the through point settled, in Pa.
    pub through_pa: f64,
    /// Where the plugged point belongs at this barometer, in Pa.
    pub target_plugged_pa: f64,
    /// Where the through point belongs at this barometer, in Pa.
    pub target_through_pa: f64,
    /// Effective area of the inlet valve over that of the test orifice.
    pub inlet_relative: f64,
    /// Effective area of the bleed valve over that of the test orifice.
    pub bleed_relative: f64,
}

/// A look at both points of the rig with no valve turned, which found both where the calibration had left them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CheckRecord {
    /// Which of the calibrations it checks, from 1.
    pub calibration: usize,
    /// Number of the event that gave the reading with the hose plugged.
    pub plugged: u64,
    /// Number of the event that gave the reading through the test orifice.
    pub through: u64,
}

impl CalibrationRecord {
    pub(crate) fn of(readings: Vec<u64>, calibration: &Calibration) -> CalibrationRecord {
        let (target_plugged, target_through) = calibration.targets();
        CalibrationRecord {
            readings,
            plugged_pa: calibration.plugged().si(),
            through_pa: calibration.through().si(),
            target_plugged_pa: six_digits(target_plugged.si()),
            target_through_pa: six_digits(target_through.si()),
            inlet_relative: six_digits(calibration.inlet_relative()),
            bleed_relative: six_digits(calibration.bleed_relative()),
        }
    }
}

/// One look at the gauge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct TakeRecord {
    /// Number of the journal's event.
    pub event: u64,
    /// Whether it was set aside, since the two other takes agree and it does not; it does not count then.
    #[serde(default, skip_serializing_if = "is_false")]
    pub set_aside: bool,
}

/// What became of a circuit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CircuitRecord {
    /// The circuit as described.
    pub circuit: Arc<Circuit>,
    /// Its verdict; none where it was not tested.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Verdict>,
    /// Why its test was left, where it was, or by what the unit is known not to have it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub left: Option<String>,
    /// Its readings, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub readings: Vec<ReadingRecord>,
}

/// One reading of a circuit: its takes and what they mean.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ReadingRecord {
    /// What tells it from others of the circuit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// Whether it is left out of the circuit's verdict.
    #[serde(default, skip_serializing_if = "is_false")]
    pub trial: bool,
    /// Which of the calibrations it was taken on, from 1.
    pub calibration: usize,
    /// Which of the checks covers it, from 1: the next one, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub check: Option<usize>,
    /// What it has to itself, of the place and of what it is judged by; the rest is its circuit's.
    #[serde(default, skip_serializing_if = "Spot::is_empty")]
    pub own: Spot,
    /// The takes, each after seating the plate anew.
    pub takes: Vec<TakeRecord>,
    /// Where its limits lie on this bench; none where they are to be found.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limits_here: Option<LimitsHere>,
    /// What the takes that count mean; none where no two agree, as then none of them counts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub meaning: Option<Assessment>,
    /// The verdict and the probabilities that it rests on; none where the circuit has no limits.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub judgement: Option<Judgement>,
}

/// The limits of a reading as readings on the bench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct LimitsHere {
    /// At and below this reading it leaks or is too open, in Pa.
    pub lower_pa: f64,
    /// At and above this reading it holds or is too tight, in Pa.
    pub upper_pa: f64,
}

impl LimitsHere {
    pub(crate) fn of(
        limits: &Limits,
        travel: &Travel,
        calibration: &Calibration,
    ) -> Result<LimitsHere, ReadingError> {
        Ok(LimitsHere {
            lower_pa: six_digits(travel.of_standard(limits.lower(), calibration)?.si()),
            upper_pa: six_digits(travel.of_standard(limits.upper(), calibration)?.si()),
        })
    }
}

impl CircuitRecord {
    /// The readings that count.
    pub(crate) fn counting(&self) -> impl Iterator<Item = &ReadingRecord> {
        self.readings.iter().filter(|reading| !reading.trial)
    }

    /// Returns where a reading was taken and what it is judged by.
    pub(crate) fn spot(&self, reading: &ReadingRecord) -> Spot {
        self.circuit.spot(&reading.own)
    }
}

impl ReadingRecord {
    /// Returns the verdict on the reading.
    pub fn verdict(&self) -> Verdict {
        self.judgement.map_or(Verdict::Unjudged, |judgement| judgement.verdict)
    }
}

/// A conclusion.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct FindingRecord {
    /// The circuit that it is about, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub circuit: Option<String>,
    /// The conclusion.
    pub text: String,
}

/// How many circuits got which verdict. What most records have none of stands only where there are some.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct VerdictCounts {
    /// Sound.
    pub holds: usize,
    /// Between the limits.
    pub worn: usize,
    /// To be repaired.
    pub leaks: usize,
    /// Passages that pass what they should.
    #[serde(default, skip_serializing_if = "is_none")]
    pub right: usize,
    /// Passages that pass too much.
    #[serde(default, skip_serializing_if = "is_none")]
    pub open: usize,
    /// Passages that pass too little.
    #[serde(default, skip_serializing_if = "is_none")]
    pub tight: usize,
    /// Not decided by the readings.
    pub retest: usize,
    /// Read without limits to judge by.
    #[serde(default, skip_serializing_if = "is_none")]
    pub not_judged: usize,
    /// What the unit does not have.
    #[serde(default, skip_serializing_if = "is_none")]
    pub not_fitted: usize,
    /// Described, but not tested or left.
    pub not_tested: usize,
}

fn is_none(count: &usize) -> bool {
    *count == 0
}

impl VerdictCounts {
    pub fn of<'a>(circuits: impl IntoIterator<Item = &'a CircuitRecord>) -> VerdictCounts {
        let mut counts = VerdictCounts::default();
        circuits.into_iter().for_each(|circuit| *counts.count_mut(circuit.verdict) += 1);
        counts
    }

    /// Returns how many got a verdict, or were not tested.
    pub(crate) fn count(&self, verdict: Option<Verdict>) -> usize {
        *self.clone().count_mut(verdict)
    }

    pub(crate) fn count_mut(&mut self, verdict: Option<Verdict>) -> &mut usize {
        match verdict {
            Some(Verdict::Holds) => &mut self.holds,
            Some(Verdict::Worn) => &mut self.worn,
            Some(Verdict::Leaks) => &mut self.leaks,
            Some(Verdict::Right) => &mut self.right,
            Some(Verdict::Open) => &mut self.open,
            Some(Verdict::Tight) => &mut self.tight,
            Some(Verdict::Retest) => &mut self.retest,
            Some(Verdict::Unjudged) => &mut self.not_judged,
            Some(Verdict::NotFitted) => &mut self.not_fitted,
            None => &mut self.not_tested,
        }
    }

    /// Returns each count with its verdict, none for those not tested, in the order in which they are told.
    pub(crate) fn each(&self) -> impl Iterator<Item = (Option<Verdict>, usize)> {
        let verdicts = [
            Some(Verdict::Holds),
            Some(Verdict::Right),
            Some(Verdict::Worn),
            Some(Verdict::Leaks),
            Some(Verdict::Open),
            Some(Verdict::Tight),
            Some(Verdict::Retest),
            Some(Verdict::Unjudged),
            Some(Verdict::NotFitted),
            None,
        ];
        verdicts.into_iter().map(|verdict| (verdict, self.count(verdict)))
    }

    /// Returns how many were found as they should be.
    pub(crate) fn sound(&self) -> usize {
        self.holds + self.right
    }

    /// Returns how many were found not to be as they should.
    pub(crate) fn amiss(&self) -> usize {
        self.worn + self.leaks + self.open + self.tight
    }
}
