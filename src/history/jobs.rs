use std::collections::BTreeMap;

use jiff::Timestamp;

use super::{Index, IndexError};
use crate::leak::Verdict;
use crate::record::{COULD_NOT_BE_DONE, JobNotes, Stage};

/// A test of a job: a record that counts.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct JobTest {
    pub(crate) session: String,
    /// When the rig was last checked in it.
    pub(crate) tested: Timestamp,
    pub(crate) technician: String,
    pub(crate) unit: String,
    circuits: Vec<TestedCircuit>,
    /// Whether it is one after a repair.
    is_again: bool,
    /// What it found that no circuit carries.
    findings: Vec<String>,
}

#[derive(Debug, Clone, PartialEq)]
struct TestedCircuit {
    name: String,
    verdict: Option<Verdict>,
    decided: Option<String>,
    is_wanted: bool,
}

/// Where a job stands.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct JobStanding {
    pub(crate) name: String,
    pub(crate) notes: JobNotes,
    /// Its tests, in order.
    pub(crate) tests: Vec<JobTest>,
    /// Its circuits by their last test, and what was found beside them, what is to be done first in front.
    pub(crate) circuits: Vec<CircuitStanding>,
}

/// Where a circuit of a job stands.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct CircuitStanding {
    pub(crate) unit: String,
    /// The circuit's name, or the words of what was found that no circuit carries.
    pub(crate) name: String,
    pub(crate) is_finding: bool,
    pub(crate) stage: Stage,
    /// None where it was to be tested and was not.
    pub(crate) verdict: Option<Verdict>,
    pub(crate) decided: Option<String>,
    /// Who tested it last.
    pub(crate) technician: String,
}

impl JobStanding {
    /// Says where a job stands by its tests and by what is noted of it.
    pub(crate) fn of(name: &str, notes: JobNotes, tests: Vec<JobTest>) -> JobStanding {
        let mut last: BTreeMap<(&str, &str), (usize, &JobTest, &TestedCircuit)> = BTreeMap::new();
        for test in &tests {
            for circuit in test.circuits.iter().filter(|it| it.verdict.is_some() || it.is_wanted) {
                let place = last.len();
                let entry = last.entry((&test.unit, &circuit.name)).or_insert((place, test, circuit));
                (entry.1, entry.2) = (test, circuit);
            }
        }
        let mut standing: Vec<_> = last.into_values().collect();
        standing.sort_by_key(|(place, ..)| *place);
        let standing = standing.into_iter().map(|(_, test, circuit)| {
            let is_repaired = notes.repairs_of(&test.unit, &circuit.name).any(|(at, _)| *at > test.tested);
            CircuitStanding {
                unit: test.unit.clone(),
                name: circuit.name.clone(),
                is_finding: false,
                stage: Stage::of(circuit.verdict, circuit.decided.as_deref(), is_repaired),
                verdict: circuit.verdict,
                decided: circuit.decided.clone(),
                technician: test.technician.clone(),
            }
        });
        let mut circuits: Vec<_> = standing.chain(found(&tests, &notes)).collect();
        circuits.sort_by_key(|circuit| circuit.stage);
        JobStanding { name: name.to_owned(), notes, circuits, tests }
    }

    /// Returns since when it is closed, and why; what was done later opens it again.
    pub(crate) fn closed(&self) -> Option<&(Timestamp, String)> {
        let last_test = self.tests.iter().map(|test| test.tested).max();
        let last_note = self.notes.standing.last().map(|(at, _)| *at);
        let is_last = |at: Timestamp| last_test <= Some(at) && last_note <= Some(at);
        self.notes.closed.as_ref().filter(|(at, _)| is_last(*at))
    }

    /// Returns whether something is still to be done; one that was only named waits for its first test.
    pub(crate) fn is_open(&self) -> bool {
        let waits = self.tests.is_empty() || self.circuits.iter().any(|circuit| circuit.stage.is_open());
        waits && self.closed().is_none()
    }

    /// Returns whether units of several names belong to it, whose circuits may have one name.
    pub(crate) fn has_several_units(&self) -> bool {
        self.tests.windows(2).any(|pair| pair[0].unit != pair[1].unit)
    }

    pub(crate) fn at_stage(&self, stage: Stage) -> impl Iterator<Item = &CircuitStanding> {
        self.circuits.iter().filter(move |circuit| circuit.stage == stage)
    }
}

/// Says where stands what tests found that no circuit carries. It is settled by a later test of the unit that does not
/// find it any more, where that is one after a repair or a repair is noted of it.
fn found<'a>(tests: &'a [JobTest], notes: &'a JobNotes) -> impl Iterator<Item = CircuitStanding> + 'a {
    let last = |unit: &str, text: &String| {
        let of = tests.iter().rposition(|test| test.unit == unit && test.findings.contains(text));
        of.unwrap_or_default()
    };
    let findings = tests
        .iter()
        .enumerate()
        .flat_map(|(index, test)| test.findings.iter().map(move |text| (index, test, text)));
    findings.filter(move |(index, test, text)| last(&test.unit, text) == *index).map(|(index, test, text)| {
        let is_repaired = notes.repairs_found(&test.unit, text).any(|(at, _)| *at > test.tested);
        let is_settled =
            tests[index + 1..].iter().any(|later| later.unit == test.unit && (later.is_again || is_repaired));
        let stage = match (is_settled, is_repaired) {
            (true, _) => Stage::Done,
            (false, true) => Stage::ToTestAgain,
            (false, false) if text.starts_with(COULD_NOT_BE_DONE) => Stage::ToTest,
            (false, false) => Stage::ToDecide,
        };
        CircuitStanding {
            unit: test.unit.clone(),
            name: text.clone(),
            is_finding: true,
            stage,
            verdict: None,
            decided: None,
            technician: test.technician.clone(),
        }
    })
}

impl Index {
    /// Returns the names of the jobs that records belong to.
    pub(crate) fn jobs(&self) -> Result<Vec<String>, IndexError> {
        self.ask("SELECT DISTINCT job FROM record WHERE job IS NOT NULL", &[], |row| row.get(0))
    }

    /// Returns the tests of a job that count, in the order in which they were made.
    pub(crate) fn tests_of_job(&self, job: &str) -> Result<Vec<JobTest>, IndexError> {
        let rows = self.ask(include_str!("sql/job.sql"), &[&job], |row| {
            let test = JobTest {
                session: row.get(0)?,
                tested: Timestamp::from_second(row.get(1)?).unwrap_or_default(),
                technician: row.get(2)?,
                unit: row.get(3)?,
                circuits: Vec::new(),
                is_again: row.get::<Option<bool>>(8)?.unwrap_or_default(),
                findings: Vec::new(),
            };
            // A record of no circuits has a row all the same.
            let name: Option<String> = row.get(4)?;
            let (verdict, decided) = (row.get(5)?, row.get(6)?);
            let is_wanted = row.get::<Option<bool>>(7)?.unwrap_or_default();
            let circuit = name.map(|name| TestedCircuit { name, verdict, decided, is_wanted });
            Ok((test, circuit))
        })?;
        let mut tests: Vec<JobTest> = Vec::new();
        for (test, circuit) in rows {
            if tests.last().is_none_or(|last| last.session != test.session) {
                tests.push(test);
            }
            if let Some(last) = tests.last_mut() {
                last.circuits.extend(circuit);
            }
        }
        let findings: Vec<(String, String)> =
            self.ask(include_str!("sql/job_findings.sql"), &[&job], |row| Ok((row.get(0)?, row.get(1)?)))?;
        for (session, text) in findings {
            if let Some(test) = tests.iter_mut().find(|test| test.session == session) {
                test.findings.push(text);
            }
        }
        Ok(tests)
    }
}
