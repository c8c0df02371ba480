use clap::Args;

use crate::cli::status::Failure;
use crate::history::Index;
use crate::procedure::nearest;
use crate::quantity::{UNITS, Unit};

/// Which unit is asked about.
#[derive(Debug, Args)]
pub(super) struct ChosenUnit {
    /// The unit; where none is named, every unit of the shop, or the one that has the circuit
    #[arg(long)]
    unit: Option<String>,
}

impl ChosenUnit {
    /// Returns the units that are asked about.
    pub(super) fn units(&self, index: &Index) -> Result<Vec<String>, Failure> {
        let known = index.units()?;
        match &self.unit {
            None => Ok(known),
            Some(named) => known_as(named, &known, "unit").map(|unit| vec![unit]),
        }
    }

    /// Returns the units that are asked about, or where a circuit is named the one that has it, and the circuit.
    pub(super) fn units_with(
        &self,
        index: &Index,
        named: Option<&str>,
    ) -> Result<(Vec<String>, Option<String>), Failure> {
        let Some(named) = named else { return Ok((self.units(index)?, None)) };
        let (unit, circuit) = self.circuit(index, named)?;
        Ok((vec![unit], Some(circuit)))
    }

    /// Returns the one unit that has a circuit of that name, and the circuit.
    pub(super) fn circuit(&self, index: &Index, named: &str) -> Result<(String, String), Failure> {
        let mut found = Vec::new();
        let mut known = Vec::new();
        for unit in self.units(index)? {
            let circuits = index.circuits(&unit)?;
            if let Some(circuit) = circuits.iter().find(|circuit| circuit.eq_ignore_ascii_case(named)) {
                found.push((unit, circuit.clone()));
            }
            known.extend(circuits);
        }
        match found.len() {
            0 => {
                Err(known_as(named, &known, "circuit").err().unwrap_or_else(|| Failure::wrong("no circuit")))
            }
            1 => Ok(found.remove(0)),
            _ => {
                let units: Vec<_> = found.into_iter().map(|(unit, _)| unit).collect();
                Err(Failure::wrong(format!(
                    "several units have a circuit \"{named}\"; name one with --unit: {}",
                    units.join(", ")
                )))
            }
        }
    }
}

/// Finds a name among those known, in whatever case it was typed.
pub(super) fn known_as(named: &str, known: &[String], kind: &str) -> Result<String, Failure> {
    if let Some(found) = known.iter().find(|known| known.eq_ignore_ascii_case(named)) {
        return Ok(found.clone());
    }
    let near = nearest(named, known.iter().map(String::as_str));
    let near = match near {
        Some(near) => format!(" Did you mean \"{near}\"?"),
        None if known.is_empty() => String::new(),
        None => format!(" Known are {}.", some_of(known)),
    };
    Err(Failure::wrong(format!("no record has a {kind} \"{named}\".{near}")))
}

/// Names those known, or the first of them where they are many.
fn some_of(known: &[String]) -> String {
    const MOST: usize = 15;
    let mut names: Vec<&str> = Vec::new();
    for name in known.iter().filter(|name| !name.is_empty()) {
        // Several units have circuits of one name.
        if !names.contains(&name.as_str()) {
            names.push(name);
        }
    }
    let more = names.len().saturating_sub(MOST);
    names.truncate(MOST);
    let rest = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!("{}{rest}", names.join(", "))
}

/// The unit that vacuums are shown in.
pub(super) fn vacuum_unit() -> &'static Unit {
    &UNITS[0]
}

/// Writes a vacuum in Pa as a number in the unit that vacuums are shown in, with all decimals, as a column wants them.
pub(super) fn vacuum(pa: f64) -> String {
    let text = format!("{:.*}", vacuum_unit().decimals, vacuum_unit().from_si(pa));
    // What rounds to nothing has no sign.
    text.strip_prefix('-')
        .filter(|text| text.bytes().all(|byte| matches!(byte, b'0' | b'.')))
        .unwrap_or(&text)
        .to_owned()
}

/// Writes a vacuum that may be missing.
pub(super) fn vacuum_if(pa: Option<f64>) -> String {
    pa.map(vacuum).unwrap_or_default()
}
