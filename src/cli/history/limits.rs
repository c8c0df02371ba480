use std::collections::BTreeMap;

use clap::Args;

use super::answer::Answer;
use super::units::{ChosenUnit, vacuum_unit};
use crate::cli::status::Failure;
use crate::history::Index;
use crate::quantity::{Entry, Pressure};
use crate::report::Table;

/// Which records other limits would judge otherwise.
#[derive(Debug, Args)]
pub(super) struct Limits {
    /// The circuit
    circuit: String,
    /// Holds at this standard reading and deeper [default: as it is]
    #[arg(long, value_name = "VACUUM")]
    holds: Option<String>,
    /// Leaks at this standard reading and less [default: as it is]
    #[arg(long, value_name = "VACUUM")]
    leaks: Option<String>,
    #[command(flatten)]
    unit: ChosenUnit,
}

impl Limits {
    pub(super) fn answer(self, index: &Index) -> Result<Answer, Failure> {
        let (unit, circuit) = self.unit.circuit(index, &self.circuit)?;
        let now = index
            .latest_limits(&unit, &circuit)
            .map_err(Failure::wrong)?
            .ok_or_else(|| Failure::wrong("the circuit has no limits"))?;
        let holds = self.holds.as_deref().map_or(Ok(now.holds()), pressure)?;
        let leaks = self.leaks.as_deref().map_or(Ok(now.leaks()), pressure)?;
        let limits = crate::leak::Limits::new(holds, leaks).map_err(Failure::wrong)?;
        let judged = index.judged_by(&unit, &circuit, &limits).map_err(Failure::wrong)?;
        let title = format!(
            "{unit}, {circuit}: holds from {}, leaks to {} instead of {} and {}",
            holds.in_unit(vacuum_unit()),
            leaks.in_unit(vacuum_unit()),
            now.holds().in_unit(vacuum_unit()),
            now.leaks().in_unit(vacuum_unit())
        );
        let mut summary = Table::new(title.clone(), &["was", "would be", "records"]);
        let mut counts: BTreeMap<(String, String), usize> = BTreeMap::new();
        for changed in &judged.changed {
            *counts.entry((changed.was.to_string(), changed.would_be.to_string())).or_default() += 1;
        }
        for ((was, would_be), n) in counts {
            summary.row([was, would_be, n.to_string()]);
        }
        summary.note(format!(
            "{} of {} records would be judged otherwise, those after a repair included.",
            judged.changed.len(),
            judged.n_records
        ));
        let mut records = Table::new("The records", &["session", "was", "would be"]);
        for changed in judged.changed {
            records.row([changed.session, changed.was.to_string(), changed.would_be.to_string()]);
        }
        let tables = if records.rows.is_empty() { vec![summary] } else { vec![summary, records] };
        Ok(Answer { title, tables })
    }
}

fn pressure(text: &str) -> Result<Pressure, Failure> {
    let entry = Entry::parse(text, vacuum_unit()).map_err(Failure::wrong)?;
    Pressure::from_si(entry.si).ok_or_else(|| Failure::wrong("a limit is a vacuum"))
}
