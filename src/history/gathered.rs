use std::fs;
use std::path::Path;

use jiff::Timestamp;
use serde::Deserialize;
use serde::de::IgnoredAny;

use crate::leak::{Budget, Estimate, Limits, Verdict};
use crate::quantity::Entry;
use crate::record::{EarlierRecord, FORMAT, LEAVE_IT, Mode, REPLACE, Record, RigParts};
use crate::tell::orifice_kind;

/// What the index takes from a record.
#[derive(Debug, Clone, PartialEq)]
pub struct Gathered {
    /// The session's name.
    pub session: String,
    /// When it was finished, in seconds since 1970.
    pub finished: i64,
    /// The month in which the bench was read, as `2026-11`.
    pub month: String,
    /// The unit that was tested, or the procedure's title.
    pub unit: String,
    /// Who tested.
    pub technician: String,
    /// The rig, by its orifice and gauge.
    pub rig: String,
    /// Probability that a verdict had to reach.
    pub confidence: f64,
    /// What the shop knows the job by.
    pub job: Option<String>,
    /// The session that it amends.
    pub amends: Option<String>,
    /// The session whose circuits it tests again.
    pub after: Option<String>,
    /// What was decided costs, where something was and all figures are known.
    pub money: Option<GatheredMoney>,
    /// The circuits.
    pub circuits: Vec<GatheredCircuit>,
    /// The checks of the rig.
    pub checks: Vec<GatheredCheck>,
}

/// What the decisions of a record cost.
#[derive(Debug, Clone, PartialEq)]
pub struct GatheredMoney {
    /// The money; empty where the shop names none.
    pub currency: String,
    /// What the repairs decided on cost.
    pub total: f64,
    /// What a replacement costs.
    pub replacement: f64,
    /// Whether it was decided to replace.
    pub is_replaced: bool,
}

/// A circuit of a record.
#[derive(Debug, Clone, PartialEq)]
pub struct GatheredCircuit {
    /// Its name.
    pub name: String,
    /// Its verdict; none where it was not tested.
    pub verdict: Option<Verdict>,
    /// What was decided about it.
    pub decided: Option<String>,
    /// Its limits; none where they are to be found.
    pub limits: Option<Limits>,
    /// Its readings that count.
    pub readings: Vec<GatheredReading>,
}

/// A reading that counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GatheredReading {
    /// The standard reading in Pa.
    pub standard: f64,
    /// How its errors are spread: the normal part, in Pa.
    pub normal: f64,
    /// The rectangular part, in Pa.
    pub rectangle: f64,
}

/// A check of the rig against its calibration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GatheredCheck {
    /// When, in seconds since 1970.
    pub at: i64,
    /// How much deeper the plugged hose read, in Pa.
    pub plugged: f64,
    /// How much deeper the orifice read, in Pa.
    pub through: f64,
}

/// Reads what the index takes from a record's file.
///
/// A record that was changed since it was stored says nothing any more.
///
/// # Errors
/// What is wrong with the file.
pub fn gather(path: &Path) -> Result<Gathered, String> {
    let bytes = fs::read(path).map_err(|error| error.to_string())?;
    let record: Slim = serde_json::from_slice(&bytes).map_err(|error| error.to_string())?;
    if record.format != FORMAT {
        return Err(format!("its format is {}", record.format));
    }
    if record.mode != Mode::Bench {
        return Err("a rehearsal is no history".to_owned());
    }
    let whole: Record = serde_json::from_slice(&bytes).map_err(|error| error.to_string())?;
    if !whole.is_as_stored() {
        return Err("it is not as it was stored; records audit says what was changed".to_owned());
    }
    Ok(record.into())
}

/// The fields of a record that are read; whatever else is in it is passed over.
#[derive(Deserialize)]
struct Slim {
    format: String,
    session: String,
    #[serde(default)]
    job: Option<String>,
    mode: Mode,
    finished: Timestamp,
    technician: Option<String>,
    procedure: SlimProcedure,
    rig: RigParts,
    confidence: f64,
    plan: Option<SlimPlan>,
    amends: Option<SlimAmends>,
    calibrations: Vec<SlimCalibration>,
    checks: Vec<SlimCheck>,
    circuits: Vec<SlimCircuit>,
    decisions: Vec<SlimDecision>,
    account: SlimAccount,
    #[serde(rename = "journal")]
    _journal: IgnoredAny,
}

#[derive(Deserialize)]
struct SlimProcedure {
    title: String,
    unit: Option<String>,
}

#[derive(Deserialize)]
struct SlimPlan {
    after: Option<EarlierRecord>,
}

#[derive(Deserialize)]
struct SlimAmends {
    earlier: EarlierRecord,
}

#[derive(Deserialize)]
struct SlimCalibration {
    plugged_pa: f64,
    through_pa: f64,
}

#[derive(Deserialize)]
struct SlimCheck {
    calibration: usize,
    plugged: SlimTake,
    through: SlimTake,
}

#[derive(Deserialize)]
struct SlimTake {
    at: Timestamp,
    entry: Entry,
}

#[derive(Deserialize)]
struct SlimCircuit {
    circuit: SlimDescription,
    verdict: Option<Verdict>,
    readings: Vec<SlimReading>,
}

#[derive(Deserialize)]
struct SlimDescription {
    name: String,
    limits: Option<Limits>,
}

#[derive(Deserialize)]
struct SlimReading {
    trial: bool,
    meaning: SlimMeaning,
}

#[derive(Deserialize)]
struct SlimMeaning {
    standard_reading_pa: Estimate,
    budget: Budget,
}

#[derive(Deserialize)]
struct SlimDecision {
    circuit: String,
    decided: String,
}

#[derive(Deserialize)]
struct SlimAccount {
    prices: SlimPrices,
    total: Option<f64>,
}

#[derive(Deserialize)]
struct SlimPrices {
    currency: Option<String>,
    replacement: Option<f64>,
}

impl From<Slim> for Gathered {
    fn from(record: Slim) -> Gathered {
        let checks = record.checks.iter().filter_map(|check| {
            let calibration = record.calibrations.get(check.calibration.checked_sub(1)?)?;
            Some(GatheredCheck {
                at: check.through.at.as_second(),
                plugged: check.plugged.entry.si - calibration.plugged_pa,
                through: check.through.entry.si - calibration.through_pa,
            })
        });
        let checks: Vec<GatheredCheck> = checks.collect();
        let decided = |name: &str| {
            let decision = record.decisions.iter().find(|decision| decision.circuit == name);
            decision.map(|decision| decision.decided.clone())
        };
        let circuits = record.circuits.iter().map(|circuit| GatheredCircuit {
            name: circuit.circuit.name.clone(),
            verdict: circuit.verdict,
            decided: decided(&circuit.circuit.name),
            limits: circuit.circuit.limits,
            readings: circuit.readings.iter().filter(|reading| !reading.trial).map(Into::into).collect(),
        });
        Gathered {
            finished: record.finished.as_second(),
            // An amendment is finished when it was made; the checks of the rig say when the bench was read.
            month: checks
                .last()
                .and_then(|check| Timestamp::from_second(check.at).ok())
                .unwrap_or(record.finished)
                .strftime("%Y-%m")
                .to_string(),
            unit: record.procedure.unit.clone().unwrap_or_else(|| record.procedure.title.clone()),
            technician: record.technician.clone().unwrap_or_else(|| "nobody named".to_owned()),
            rig: rig(&record.rig),
            confidence: record.confidence,
            job: record.job.clone(),
            amends: record.amends.as_ref().map(|amends| amends.earlier.session.clone()),
            after: record
                .plan
                .as_ref()
                .and_then(|plan| plan.after.as_ref())
                .map(|after| after.session.clone()),
            money: money(&record),
            circuits: circuits.collect(),
            checks,
            session: record.session,
        }
    }
}

impl From<&SlimReading> for GatheredReading {
    fn from(reading: &SlimReading) -> GatheredReading {
        let spread = reading.meaning.budget.spread();
        GatheredReading {
            standard: reading.meaning.standard_reading_pa.value,
            normal: spread.normal,
            rectangle: spread.rectangle,
        }
    }
}

/// Where nothing was decided but to leave things as they are, nothing was saved: there was no replacement to be had.
fn money(record: &Slim) -> Option<GatheredMoney> {
    let mut decided = record.decisions.iter().map(|decision| decision.decided.as_str());
    if !decided.any(|decided| decided != LEAVE_IT) {
        return None;
    }
    Some(GatheredMoney {
        currency: record.account.prices.currency.clone().unwrap_or_default(),
        total: record.account.total?,
        replacement: record.account.prices.replacement?,
        is_replaced: record.decisions.iter().any(|decision| decision.decided == REPLACE),
    })
}

fn rig(parts: &RigParts) -> String {
    let orifice = parts.orifice;
    format!("{} {}, gauge {}", orifice.diameter(), orifice_kind(orifice.kind()), parts.dial.grade())
}
