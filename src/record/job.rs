//! A job is what a shop does for one order: tests, repairs, tests again. What the shop notes of it beside the records
//! stands in a file of its own, so that records can be handed on without it.

use std::collections::BTreeMap;
use std::io;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::{LEAVE_IT, Shop};
use crate::disk::{self, Alone, LARGEST_DOCUMENT, Log, LogError, write_whole};
use crate::leak::Verdict;

/// A line of the shop's file of jobs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct JobLine {
    job: String,
    at: Timestamp,
    noted: JobNote,
}

/// What is noted of a job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "note", rename_all = "snake_case", deny_unknown_fields)]
pub(crate) enum JobNote {
    /// Whose unit it is; an empty text takes out what stood there.
    Customer { customer: String },
    /// What it belongs in; an empty text takes out what stood there.
    Vehicle { vehicle: String },
    /// A repair was really done.
    Repaired { repair: DoneRepair },
    /// Nothing more will be done.
    Closed { why: String },
    /// The last note that stood does not stand any more.
    TakenBack,
}

/// A repair that was really done.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct DoneRepair {
    /// The unit that has the circuit, or in which it was found; none where neither is named.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) unit: Option<String>,
    /// The circuit; none where it was done to the unit as a whole.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) circuit: Option<String>,
    /// What it mends that was found and no circuit carries.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(crate) finding: Option<String>,
    pub(crate) did: String,
    /// Who did it.
    pub(crate) by: String,
    /// With which part.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) part: Option<String>,
    /// What the customer pays for it, in the money below; none where nobody noted it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) cost: Option<f64>,
    /// The money that the shop reckoned in then.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) currency: Option<String>,
}

impl DoneRepair {
    /// Returns whether it was done to a unit's circuit. One that was noted before any test may name no unit.
    pub(crate) fn is_of(&self, unit: &str, circuit: &str) -> bool {
        self.circuit.as_deref() == Some(circuit) && self.unit.as_deref().is_none_or(|of| of == unit)
    }
}

/// All that stands noted of a job.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct JobNotes {
    pub(crate) customer: Option<String>,
    pub(crate) vehicle: Option<String>,
    /// The repairs, each with the time at which it was noted, in order.
    pub(crate) repairs: Vec<(Timestamp, DoneRepair)>,
    /// Why it is closed, and since when.
    pub(crate) closed: Option<(Timestamp, String)>,
    /// The notes that stand, in order.
    pub(crate) standing: Vec<(Timestamp, JobNote)>,
}

impl JobNotes {
    fn take(&mut self, at: Timestamp, note: JobNote) {
        match note {
            JobNote::TakenBack => _ = self.standing.pop(),
            note => self.standing.push((at, note)),
        }
    }

    /// Sums up the notes that stand.
    fn summed(mut self) -> JobNotes {
        let said = |text: &String| Some(text.clone()).filter(|text| !text.is_empty());
        for (at, note) in &self.standing {
            match note {
                JobNote::Customer { customer } => self.customer = said(customer),
                JobNote::Vehicle { vehicle } => self.vehicle = said(vehicle),
                JobNote::Repaired { repair } => self.repairs.push((*at, repair.clone())),
                JobNote::Closed { why } => self.closed = Some((*at, why.clone())),
                JobNote::TakenBack => {}
            }
        }
        self
    }

    /// Returns the repairs of a unit's circuit, the latest last.
    pub(crate) fn repairs_of(
        &self,
        unit: &str,
        circuit: &str,
    ) -> impl Iterator<Item = &(Timestamp, DoneRepair)> {
        self.repairs.iter().filter(move |(_, repair)| repair.is_of(unit, circuit))
    }

    /// Returns the repairs of what was found in a unit that no circuit carries.
    pub(crate) fn repairs_found(
        &self,
        unit: &str,
        finding: &str,
    ) -> impl Iterator<Item = &(Timestamp, DoneRepair)> {
        self.repairs.iter().filter(move |(_, repair)| {
            repair.finding.as_deref() == Some(finding) && repair.unit.as_deref() == Some(unit)
        })
    }

    /// Returns the notes without what tells whose unit it is.
    pub(crate) fn without_customer(self) -> JobNotes {
        JobNotes { customer: None, vehicle: None, ..self }
    }
}

/// Returns what stands noted of each job, by its name.
///
/// A last line that another program is just writing, or that was cut off, was never acknowledged and does not count.
///
/// # Errors
/// Where the file can't be read, or a line of it is none.
pub(crate) fn job_notes(shop: &Shop) -> Result<BTreeMap<String, JobNotes>, LogError> {
    let path = shop.jobs();
    let bytes = match disk::read(&path, LARGEST_DOCUMENT) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == io::ErrorKind::NotFound => Vec::new(),
        Err(error) => return Err(LogError::Io(path, error)),
    };
    let mut jobs: BTreeMap<String, JobNotes> = BTreeMap::new();
    let whole = bytes.split_inclusive(|byte| *byte == b'\n').filter_map(|line| line.strip_suffix(b"\n"));
    for (index, text) in whole.enumerate() {
        let damaged = |why| LogError::Damaged { path: path.clone(), line: index + 1, why };
        let JobLine { job, at, noted } = read_line(text).map_err(damaged)?;
        jobs.entry(job).or_default().take(at, noted);
    }
    Ok(jobs.into_iter().map(|(job, notes)| (job, notes.summed())).collect())
}

/// Takes customer and vehicle out of every line that was ever noted of a job; returns how many there were.
///
/// # Errors
/// Where the disk refuses, or a line of the file is none: then it stays as it is.
pub(crate) fn forget_customer(shop: &Shop, job: &str) -> Result<usize, LogError> {
    let path = shop.jobs();
    let failed = |error| LogError::Io(path.clone(), error);
    let _alone = Alone::in_folder(shop.root()).map_err(failed)?;
    let (mut n, mut text) = (0, String::new());
    for mut line in Log::open(&path, read_line)?.1 {
        match &mut line.noted {
            JobNote::Customer { customer: said } | JobNote::Vehicle { vehicle: said }
                if line.job == job && !said.is_empty() =>
            {
                said.clear();
                n += 1;
            }
            _ => {}
        }
        text += &serde_json::to_string(&line).map_err(|error| failed(error.into()))?;
        text.push('\n');
    }
    write_whole(&path, text.as_bytes()).map_err(failed)?;
    Ok(n)
}

/// Notes something of a job; it is on the disk then. Programs that note at once wait for each other.
///
/// # Errors
/// Where the disk refuses, or a line of the file is none: then it stays as it is.
pub(crate) fn note_of_job(shop: &Shop, job: &str, at: Timestamp, noted: JobNote) -> Result<(), LogError> {
    let path = shop.jobs();
    let failed = |error| LogError::Io(path.clone(), error);
    let _alone = Alone::in_folder(shop.root()).map_err(failed)?;
    let mut log = match path.exists() {
        true => Log::open(&path, read_line)?.0,
        false => Log::create(&path)?,
    };
    let line = JobLine { job: job.to_owned(), at, noted };
    let line = serde_json::to_string(&line).map_err(|error| failed(error.into()))?;
    log.append(&line)
}

fn read_line(text: &[u8]) -> Result<JobLine, String> {
    serde_json::from_slice(text).map_err(|error| error.to_string())
}

/// Where a circuit of a job stands, what is to be done first in front.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Stage {
    ToDecide,
    ToRepair,
    ToTestAgain,
    ToTest,
    /// It was decided to leave it.
    LeftAsItIs,
    NotJudged,
    NotFitted,
    Done,
}

impl Stage {
    /// Every stage, in order.
    pub(crate) const ALL: [Stage; 8] = [
        Stage::ToDecide,
        Stage::ToRepair,
        Stage::ToTestAgain,
        Stage::ToTest,
        Stage::LeftAsItIs,
        Stage::NotJudged,
        Stage::NotFitted,
        Stage::Done,
    ];

    /// Returns where a circuit stands by its last test, what was decided about it, and whether a
    /// repair was noted since.
    pub(crate) fn of(verdict: Option<Verdict>, decided: Option<&str>, is_repaired: bool) -> Stage {
        let Some(verdict) = verdict else { return Stage::ToTest };
        match verdict {
            Verdict::Holds | Verdict::Right => Stage::Done,
            Verdict::NotFitted => Stage::NotFitted,
            Verdict::Unjudged => Stage::NotJudged,
            _ if is_repaired => Stage::ToTestAgain,
            _ => match decided {
                Some(LEAVE_IT) => Stage::LeftAsItIs,
                Some(_) => Stage::ToRepair,
                None if verdict == Verdict::Retest => Stage::ToTestAgain,
                None => Stage::ToDecide,
            },
        }
    }

    /// Returns whether something is still to be done.
    pub(crate) fn is_open(self) -> bool {
        self <= Stage::ToTest
    }

    pub(crate) fn word(self) -> &'static str {
        match self {
            Stage::ToDecide => "to be decided",
            Stage::ToRepair => "to be repaired",
            Stage::ToTestAgain => "to be tested again",
            Stage::ToTest => "to be tested",
            Stage::LeftAsItIs => "left as it is",
            Stage::NotJudged => "read, with no limits to judge by",
            Stage::NotFitted => "not fitted",
            Stage::Done => "done",
        }
    }
}
