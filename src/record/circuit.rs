//! The circuits of a procedure, and which of them a session tests.

use serde::{Deserialize, Serialize};

use super::words::weighty;
use super::{PortMap, Record, Repair};
use crate::leak::{Context, Land, LeakKind, Limits, OilState, Seal, Travel, Verdict};

/// One bore, passage or clutch feed under test, as its procedure describes it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Circuit {
    /// Its name, unique within a procedure.
    pub name: String,
    /// Where the hose goes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub port: Option<String>,
    /// What to do before the reading; no part of a record, which holds the question that it becomes.
    #[serde(skip)]
    pub set_up: Option<String>,
    /// The standard readings that it is judged by; none where they are to be found.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limits: Option<Limits>,
    /// Complaints that it can cause.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub symptoms: Vec<String>,
    /// What a leak here means, in plain words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub means: Option<String>,
    /// The sealing land, where the procedure gives it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub land: Option<Land>,
    /// What a leak of it is, where the procedure says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kind: Option<LeakKind>,
    /// The seal that it has in place of a land.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seal: Option<Seal>,
    /// What can be done about a leak.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub repairs: Vec<Repair>,
    /// A picture of its own, as of its set-up, and where ports lie on that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub map: Option<PortMap>,
}

/// Where a circuit is read and what that reading is judged by: of a reading that has some of it to itself, that; the
/// rest is its circuit's.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Spot {
    /// Where the hose goes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub port: Option<String>,
    /// The land that seals there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub land: Option<Land>,
    /// What a leak there is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kind: Option<LeakKind>,
    /// The seal there, in place of a land.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seal: Option<Seal>,
    /// The standard readings that it is judged by.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limits: Option<Limits>,
}

impl Spot {
    /// Returns whether there is nothing to it.
    pub fn is_empty(&self) -> bool {
        *self == Spot::default()
    }

    /// Returns what is known of it besides its readings, with the oil that the unit works with.
    ///
    /// What seals by touching has no clearance, so nothing is said of oil either.
    pub(crate) fn context(&self, oil: Option<OilState>) -> Context {
        // What is to be open is an opening.
        let is_window = self.limits.is_some_and(|limits| limits.is_window());
        let kind = self.kind.or(is_window.then_some(LeakKind::Hole));
        Context { kind, land: self.land, oil: oil.filter(|_| self.seal.is_none()) }
    }

    /// Returns how a leak there travels from rig to rig.
    pub(crate) fn travel(&self) -> Travel {
        Travel::of(&self.context(None))
    }
}

impl Circuit {
    /// Returns where a reading is taken that has so much to itself, and what it is judged by.
    pub fn spot(&self, own: &Spot) -> Spot {
        Spot {
            port: own.port.as_ref().or(self.port.as_ref()).cloned(),
            // Of land and seal a reading has the one or the other.
            land: own.land.or(self.land.filter(|_| own.seal.is_none())),
            kind: own.kind.or(self.kind),
            seal: own.seal.or(self.seal.filter(|_| own.land.is_none())),
            limits: own.limits.or(self.limits),
        }
    }
}

/// Which circuits a session tests, in which order, and why; the others are left out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// The complaints that it starts from, as they were given; after a repair, those that the first test started from.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub complaints: Vec<String>,
    /// The words that were looked for in the circuits' symptoms, where they are others than the complaints.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub meant: Vec<String>,
    /// The session whose failed circuits are tested again, and the digest of its record.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub after: Option<EarlierRecord>,
    /// The number with which the order was drawn of pieces that are read in rounds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seed: Option<u32>,
    /// The circuits to test, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub circuits: Vec<Planned>,
}

/// A record that a session builds on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct EarlierRecord {
    /// Its session.
    pub session: String,
    /// Its digest.
    pub digest: String,
}

/// A circuit of a plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Planned {
    /// Its name.
    pub circuit: String,
    /// Why it is tested: the symptoms that it can cause, or its earlier verdict.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub because: Vec<String>,
}

impl Plan {
    /// Plans from complaints: every circuit that can cause one of them, those that can cause more of them first, else
    /// in the procedure's order. A symptom fits a complaint when all the weighty words of the shorter one occur in the
    /// other. Fails with the complaints that fit no circuit's symptoms.
    pub fn from_complaints(complaints: &[String], circuits: &[Circuit]) -> Result<Plan, Vec<String>> {
        let can_cause = |circuit: &Circuit, complaint: &String| {
            circuit.symptoms.iter().any(|symptom| means_the_same(complaint, symptom))
        };
        let uncovered =
            complaints.iter().filter(|complaint| !circuits.iter().any(|c| can_cause(c, complaint)));
        let uncovered: Vec<_> = uncovered.cloned().collect();
        if !uncovered.is_empty() {
            return Err(uncovered);
        }
        let mut planned: Vec<(usize, Planned)> = Vec::new();
        for circuit in circuits {
            let n_covered = complaints.iter().filter(|complaint| can_cause(circuit, complaint)).count();
            if n_covered > 0 {
                let is_meant =
                    |symptom: &&String| complaints.iter().any(|complaint| means_the_same(complaint, symptom));
                let because = circuit.symptoms.iter().filter(is_meant).cloned().collect();
                planned.push((n_covered, Planned { circuit: circuit.name.clone(), because }));
            }
        }
        planned.sort_by_key(|(n_covered, _)| std::cmp::Reverse(*n_covered));
        let circuits = planned.into_iter().map(|(_, planned)| planned).collect();
        Ok(Plan { complaints: complaints.to_vec(), meant: Vec::new(), after: None, seed: None, circuits })
    }

    /// Says that the complaints from which this was planned were given in other words.
    pub(crate) fn given_as(self, complaints: &[String]) -> Plan {
        match self.complaints == complaints {
            true => self,
            false => Plan { meant: self.complaints, complaints: complaints.to_vec(), ..self },
        }
    }

    /// Plans a test after a repair: every circuit that was tested and was not found sound, and every one that was to be
    /// tested and could not be, in the order of the record. One that has no limits was not found wanting, nor one that
    /// the unit does not have.
    pub fn after_repair(record: &Record) -> Plan {
        let was_planned = |name: &str| record.plan.as_ref().is_none_or(|plan| plan.includes(name));
        let circuits = record.circuits.iter().filter_map(|circuit| {
            let name = &circuit.circuit.name;
            let because = match circuit.verdict {
                Some(verdict) if verdict.is_amiss() || verdict == Verdict::Retest => verdict.to_string(),
                None if circuit.left.is_some() && was_planned(name) => "not tested".to_owned(),
                _ => return None,
            };
            Some(Planned { circuit: name.clone(), because: vec![because] })
        });
        Plan {
            complaints: record.plan.as_ref().map(|plan| plan.complaints.clone()).unwrap_or_default(),
            meant: Vec::new(),
            after: Some(EarlierRecord {
                session: record.session.clone(),
                digest: record.digest.clone().unwrap_or_default(),
            }),
            seed: None,
            circuits: circuits.collect(),
        }
    }

    /// Returns whether a circuit is to be tested.
    pub fn includes(&self, circuit: &str) -> bool {
        self.circuits.iter().any(|planned| planned.circuit == circuit)
    }
}

fn means_the_same(complaint: &str, symptom: &str) -> bool {
    let (complaint, symptom) = (weighty(complaint), weighty(symptom));
    let (fewer, more) =
        if complaint.len() <= symptom.len() { (complaint, symptom) } else { (symptom, complaint) };
    !fewer.is_empty() && fewer.is_subset(&more)
}
