use serde::{Deserialize, Serialize};

use crate::leak::{Land, Limits};

/// One bore, passage or clutch feed under test, as its procedure describes it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Circuit {
    /// Its name, unique within a procedure.
    pub name: String,
    /// Where the hose goes.
    pub port: Option<String>,
    /// What to do before the reading.
    pub set_up: Option<String>,
    /// Standard readings at and above which it holds, and at and below which it leaks; none where they are to be found.
    pub limits: Option<Limits>,
    /// Complaints that it can cause.
    pub symptoms: Vec<String>,
    /// What a leak here means, in plain words.
    pub means: Option<String>,
    /// The sealing land, where the procedure gives it.
    pub land: Option<Land>,
    /// What can be done about a leak.
    pub repairs: Vec<Repair>,
}

/// One way to repair a circuit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Repair {
    /// What is done.
    pub does: String,
    /// Cost of parts in the procedure's own money, where given.
    pub parts: Option<f64>,
    /// Hours of work, where given.
    pub hours: Option<f64>,
}
