use std::fs;
use std::path::Path;

use jiff::Timestamp;
use serde::Deserialize;

use crate::leak::{Limits, Spread, Verdict};
use crate::record::{
    CheckRecord, CircuitRecord, FORMAT, LEAVE_IT, Mode, REPLACE, ReadingRecord, Record, RigParts,
};
use crate::tell::orifice_kind;

/// What the index takes from a record.
#[derive(Debug, Clone, PartialEq)]
pub struct Gathered {
    pub session: String,
    /// When it was finished, in seconds since 1970.
    pub finished: i64,
    /// The month in which the bench was read, as `2026-11`.
    pub month: String,
    /// The unit that was tested, or the procedure's title.
    pub unit: String,
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
    pub circuits: Vec<GatheredCircuit>,
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
    /// How its errors are spread, in Pa.
    pub spread: Spread,
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

/// Reads what the index takes from a record's file, or says what is wrong with it.
///
/// A record that was changed since it was stored says nothing any more.
pub fn gather(path: &Path) -> Result<Gathered, String> {
    /// What tells whether the rest can be read and is wanted.
    #[derive(Deserialize)]
    struct Head {
        format: String,
        mode: Mode,
    }
    let bytes = fs::read(path).map_err(|error| error.to_string())?;
    let head: Head = serde_json::from_slice(&bytes).map_err(|error| error.to_string())?;
    if head.format != FORMAT {
        return Err(format!("its format is {}", head.format));
    }
    if head.mode != Mode::Bench {
        return Err("a rehearsal is no history".to_owned());
    }
    let record: Record = serde_json::from_slice(&bytes).map_err(|error| error.to_string())?;
    if !record.is_as_stored() {
        return Err("it is not as it was stored; records audit says what was changed".to_owned());
    }
    Ok(record.into())
}

impl From<Record> for Gathered {
    fn from(record: Record) -> Gathered {
        let checks: Vec<_> =
            record.checks.iter().filter_map(|check| gathered_check(&record, check)).collect();
        Gathered {
            finished: record.finished.as_second(),
            // An amendment is finished when it was made; the checks of the rig say when the bench was read.
            month: checks
                .last()
                .and_then(|check| Timestamp::from_second(check.at).ok())
                .unwrap_or(record.finished)
                .strftime("%Y-%m")
                .to_string(),
            rig: rig(&record.rig),
            money: money(&record),
            circuits: record.circuits.iter().map(|circuit| gathered_circuit(&record, circuit)).collect(),
            checks,
            unit: record.procedure.unit.unwrap_or(record.procedure.title),
            technician: record.technician.unwrap_or_else(|| "nobody named".to_owned()),
            confidence: record.confidence,
            job: record.job,
            amends: record.amends.map(|amends| amends.earlier.session),
            after: record.plan.and_then(|plan| plan.after).map(|after| after.session),
            session: record.session,
        }
    }
}

fn gathered_check(record: &Record, check: &CheckRecord) -> Option<GatheredCheck> {
    let calibration = record.calibrations.get(check.calibration.checked_sub(1)?)?;
    Some(GatheredCheck {
        at: check.through.at.as_second(),
        plugged: check.plugged.entry.si - calibration.plugged_pa,
        through: check.through.entry.si - calibration.through_pa,
    })
}

fn gathered_circuit(record: &Record, circuit: &CircuitRecord) -> GatheredCircuit {
    let name = &circuit.circuit.name;
    let decision = record.decisions.iter().find(|decision| decision.circuit == *name);
    let reading = |reading: &ReadingRecord| GatheredReading {
        standard: reading.meaning.standard_reading_pa.value,
        spread: reading.meaning.budget.spread(),
    };
    GatheredCircuit {
        name: name.clone(),
        verdict: circuit.verdict,
        decided: decision.map(|decision| decision.decided.clone()),
        limits: circuit.circuit.limits,
        readings: circuit.readings.iter().filter(|reading| !reading.trial).map(reading).collect(),
    }
}

/// Where nothing was decided but to leave things as they are, nothing was saved: there was no replacement to be had.
fn money(record: &Record) -> Option<GatheredMoney> {
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
