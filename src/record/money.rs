//! What repairs cost, what is decided on, and what that saves.

use serde::{Deserialize, Serialize};

use super::{Circuit, CircuitRecord, Record};
use crate::leak::Verdict;

/// One way to repair a circuit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Repair {
    /// What is done.
    pub does: String,
    /// Cost of parts in the procedure's own money, where given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub parts: Option<f64>,
    /// Hours of work, where given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hours: Option<f64>,
}

/// What things cost, in the shop's own money.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Prices {
    /// The money, as it is written behind a figure.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
    /// An hour of work.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub labour_per_hour: Option<f64>,
    /// A replacement for the whole body or unit under test.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub replacement: Option<f64>,
    /// The shop's own figures for repairs, by what they do; they stand in for the procedure's.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub repairs: Vec<Repair>,
}

/// What was decided about a circuit that does not hold.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct DecisionRecord {
    /// The circuit.
    pub circuit: String,
    /// What the procedure offers for it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub offered: Vec<Repair>,
    /// What the technician decided: a repair, to leave it, or to replace the body.
    pub decided: String,
}

/// What the decisions cost and save by the figures at hand. Advice, never a guarantee.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Account {
    /// The figures that it was worked out with.
    pub prices: Prices,
    /// Parts of the repairs decided on.
    pub parts: f64,
    /// Hours of the repairs decided on.
    pub hours: f64,
    /// Parts and hours together, where all of them are known and an hour has a price or none is needed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub total: Option<f64>,
    /// What a replacement would cost more, where one has a price, a repair was decided on and a replacement was not:
    /// what is only left as it is saves nothing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub saved: Option<f64>,
}

impl Repair {
    /// Returns whether its parts and its hours are known.
    pub(crate) fn is_priced(&self) -> bool {
        self.parts.is_some() && self.hours.is_some()
    }
}

impl DecisionRecord {
    /// Returns the repair that was decided on, where it was one.
    pub(crate) fn repair(&self) -> Option<&Repair> {
        self.offered.iter().find(|repair| repair.does == self.decided)
    }
}

/// The decision to leave a circuit as it is.
pub(crate) const LEAVE_IT: &str = "leave it as it is";
pub(crate) const REPLACE: &str = "replace the body";

/// Returns what can be decided about a circuit that does not hold.
pub(crate) fn options(circuit: &Circuit) -> Vec<String> {
    let repairs = circuit.repairs.iter().map(|repair| repair.does.clone());
    repairs.chain([LEAVE_IT.to_owned(), REPLACE.to_owned()]).collect()
}

/// The most that a figure can be, in any money and in hours: what is added up of such figures stays a number.
pub(crate) const MOST_OF_A_FIGURE: f64 = 1e9;

impl Prices {
    /// Checks the figures: nothing costs less than nothing or more than anything, and what is named has a name. Fails
    /// with the figure that cannot be, as its owner wrote it.
    pub fn check(&self) -> Result<(), String> {
        let own = self
            .repairs
            .iter()
            .flat_map(|repair| [("parts of a repair", repair.parts), ("hours of a repair", repair.hours)]);
        let figures = [("labour_per_hour", self.labour_per_hour), ("replacement", self.replacement)];
        for (name, figure) in figures.into_iter().chain(own) {
            if let Some(figure) = figure.filter(|figure| !(0.0..=MOST_OF_A_FIGURE).contains(figure)) {
                return Err(format!(
                    "{name} is {figure}, which is no price; write 0 to {MOST_OF_A_FIGURE}, or null"
                ));
            }
        }
        if self.currency.as_ref().is_some_and(String::is_empty) {
            return Err("currency is empty; write it, or null".to_owned());
        }
        match self.repairs.iter().any(|repair| repair.does.is_empty()) {
            true => Err("a repair without a name; write what it does".to_owned()),
            false => Ok(()),
        }
    }

    /// Returns a circuit's repairs with the shop's own figures where there are any.
    pub fn repairs_of(&self, circuit: &Circuit) -> Vec<Repair> {
        let own = |repair: &Repair| {
            self.repairs.iter().find(|own| own.does == repair.does).unwrap_or(repair).clone()
        };
        circuit.repairs.iter().map(own).collect()
    }
}

impl Account {
    /// Adds up what was decided. Where parts or hours of a repair are not known, neither is what it comes to.
    pub fn of(decisions: &[DecisionRecord], prices: &Prices) -> Account {
        let repairs = || decisions.iter().filter_map(DecisionRecord::repair);
        let is_known = repairs().all(Repair::is_priced);
        let (parts, hours) = repairs().fold((0.0, 0.0), |(parts, hours), repair| {
            (parts + repair.parts.unwrap_or(0.0), hours + repair.hours.unwrap_or(0.0))
        });
        let labour = match prices.labour_per_hour {
            Some(per_hour) => Some(per_hour * hours),
            None => (hours == 0.0).then_some(0.0),
        };
        let total = labour.filter(|_| is_known).map(|labour| parts + labour);
        let is_replaced = decisions.iter().any(|decision| decision.decided == REPLACE);
        let is_repaired = repairs().next().is_some();
        let saved = match (prices.replacement, total) {
            (Some(replacement), Some(total)) if is_repaired && !is_replaced => Some(replacement - total),
            _ => None,
        };
        Account { prices: prices.clone(), parts, hours, total, saved }
    }
}

/// How many circuits an account says nothing of, though they may yet cost something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Unaccounted {
    /// Circuits that do not hold, or whose readings decide nothing, and about which nothing was decided.
    pub undecided: usize,
    /// Circuits that were not tested. After a repair, only those that were to be tested again.
    pub untested: usize,
}

impl Unaccounted {
    pub(crate) fn of(record: &Record) -> Unaccounted {
        let is_decided =
            |name: &str| record.decisions.iter().any(|decision| decision.circuit.as_str() == name);
        let was_tested_before = |name: &str| {
            record.plan.as_ref().is_some_and(|plan| plan.after.is_some() && !plan.includes(name))
        };
        let count = |is_meant: &dyn Fn(&CircuitRecord, &str) -> bool| {
            record.circuits.iter().filter(|circuit| is_meant(circuit, &circuit.circuit.name)).count()
        };
        Unaccounted {
            undecided: count(&|circuit, name| {
                let is_open = |verdict: Verdict| verdict.is_amiss() || verdict == Verdict::Retest;
                circuit.verdict.is_some_and(is_open) && !is_decided(name)
            }),
            untested: count(&|circuit, name| circuit.verdict.is_none() && !was_tested_before(name)),
        }
    }
}
