use std::path::Path;

use clap::Args;
use jiff::civil::Date;
use serde_json::{Value, json};

use crate::cli::indexed::brought_up;
use crate::cli::practice::teller;
use crate::cli::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::disk::write_whole;
use crate::history::{Address, Asked, Index};
use crate::procedure::nearest;
use crate::quantity::{UNITS, Unit};
use crate::record::{Mode, Shop};
use crate::report::{Cell, ReadingRow, Table, show_table, table_page};

/// Which unit is asked about.
#[derive(Debug, Args)]
pub(super) struct ChosenUnit {
    /// The unit; where none is named, every unit of the shop, or the one that has the circuit
    #[arg(long)]
    unit: Option<String>,
}

impl ChosenUnit {
    /// Narrows a question that is about all units together.
    pub(super) fn of(&self, index: &Index, asked: Asked) -> Result<Asked, Failure> {
        let unit = self.unit.as_ref().map(|named| known_as(named, &index.units()?, "unit")).transpose()?;
        Ok(Asked { unit, ..asked })
    }

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

/// Reads a day of the shop.
fn day(text: &str) -> Result<Date, String> {
    text.parse().map_err(|_| "write the day as in 2026-11-02".to_owned())
}

/// Which of the records are asked about.
#[derive(Debug, Args)]
pub(super) struct Narrowing {
    /// Only what was read on this day of the shop or later, as in 2026-11-02
    #[arg(long, global = true, value_name = "DAY", value_parser = day)]
    since: Option<Date>,
    /// Only what was read on this day of the shop or before
    #[arg(long, global = true, value_name = "DAY", value_parser = day)]
    until: Option<Date>,
    /// Only what was read at this bench; once for each
    #[arg(long, global = true, value_name = "NAME")]
    bench: Vec<String>,
}

impl Narrowing {
    pub(super) fn asked(&self, index: &Index) -> Result<Asked, Failure> {
        if let (Some(since), Some(until)) = (self.since, self.until)
            && since > until
        {
            return Err(Failure::wrong(format!(
                "--since {since} lies behind --until {until}: no day is in between"
            )));
        }
        let known = index.benches()?;
        let mut benches = Vec::new();
        for named in &self.bench {
            // Benches of two shops may have one name.
            let is_meant = |name: &str| {
                let bare = name.rsplit_once(" (").map_or(name, |(bare, _)| bare);
                [name, bare].iter().any(|name| name.eq_ignore_ascii_case(named.trim()))
            };
            let before = benches.len();
            benches.extend(known.iter().filter(|(_, name)| is_meant(name)).map(|(number, _)| *number));
            if benches.len() == before {
                let names: Vec<String> = known.iter().map(|(_, name)| name.clone()).collect();
                known_as(named, &names, "bench")?;
            }
        }
        let benches = Some(benches).filter(|benches| !benches.is_empty());
        Ok(Asked { since: self.since, until: self.until, benches, ..Asked::default() })
    }

    /// Says in the title of an answer what it is about.
    pub(super) fn told(&self) -> String {
        let days = [("since", self.since), ("until", self.until)];
        let days = days.into_iter().filter_map(|(word, day)| day.map(|day| format!(", {word} {day}")));
        let benches = self.bench.iter().map(|bench| format!(", bench {bench}"));
        days.chain(benches).collect()
    }
}

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

/// A vacuum in Pa as a cell, which is empty where there is none.
pub(super) fn vacuum_cell(pa: impl Into<Option<f64>>) -> Cell {
    let cell = |pa| Cell::figure(vacuum_unit().from_si(pa), vacuum(pa));
    pa.into().map(cell).unwrap_or_default()
}

/// Records that are left out and told by name: what is wrong with many must not bury the answer.
const MOST_TOLD: usize = 5;

/// Returns as whom attempts are asked about; none of records of which nothing is held back.
pub(super) fn asking(shop: &Shop, mode: Mode) -> Option<String> {
    let fingerprint = || teller(shop).map(|own| own.public_key.fingerprint()).unwrap_or_default();
    (mode == Mode::Practice).then(fingerprint)
}

/// Says how many attempts no answer has.
pub(super) fn tell_held_back(index: &Index) -> Result<(), Failure> {
    let n = index.n_held_back()?;
    if n > 0 {
        let told = format!(
            "Attempts left out: {n}. Whoever handed the exercise out holds back what comes of it, and alone tells that."
        );
        Screen::stderr().say(&told);
    }
    Ok(())
}

/// Says in the title of an answer what it is about; the bench goes without saying.
pub(super) fn told_mode(mode: Mode) -> &'static str {
    match mode {
        Mode::Bench => "",
        Mode::Rehearsal => ", in rehearsals",
        Mode::Practice => ", in practice",
    }
}

/// Opens the index, of the shop or of a server, and brings it up to the records that are there; none where
/// that was broken off.
pub(super) fn updated(
    shop: &Shop,
    server: Option<&Address>,
    mode: Mode,
    is_rebuilt: bool,
) -> Result<Option<Index>, Failure> {
    let index = match server {
        Some(address) => Index::on_server(address, mode)
            .map_err(|error| Failure::from(error).or("With --here the shop's own records answer"))?,
        None => Index::open(shop, mode)?,
    };
    let (index, update) = brought_up(index, is_rebuilt)?;
    if update.n_waiting > 0 {
        Screen::stderr().say(&format!(
            "Arrived since and not in this answer: {}. Whoever administers the server takes that up: server take-up.",
            update.n_waiting
        ));
    }
    let skipped = index.skipped()?;
    for (name, why) in skipped.iter().take(MOST_TOLD) {
        Failure::not_in_order(format!("{name} is left out: {why}")).report();
    }
    if let Some(more) = skipped.len().checked_sub(MOST_TOLD).filter(|more| *more > 0) {
        Failure::not_in_order(format!("{more} more are left out; records audit says of each what is wrong"))
            .report();
    }
    if update.is_partial {
        Failure::paused(format!(
            "Stopped after {} records. They are in the index; the next question goes on from there.",
            update.added
        ))
        .report();
        return Ok(None);
    }
    Ok(Some(index))
}

/// An answer, as tables, with what it answers.
pub(super) struct AnswerSheet {
    pub(super) title: String,
    pub(super) tables: Vec<Table>,
}

impl AnswerSheet {
    /// Gives the answer as text, as JSON or as a page.
    pub(super) fn give(&self, as_json: bool, html: Option<&Path>) -> Outcome {
        let mut screen = Screen::stdout();
        if let Some(file) = html {
            write_whole(file, table_page(&self.title, &self.tables, &UNITS[0]).as_bytes())
                .map_err(|error| Failure::file(file, error))?;
            screen.line(&format!("Written: {}", file.display()));
        } else if as_json {
            let tables: Vec<Value> = self.tables.iter().map(value).collect();
            screen.json(&json!({ "title": self.title, "tables": tables }));
        } else {
            for (index, table) in self.tables.iter().enumerate() {
                if index > 0 {
                    screen.line("");
                }
                show_table(&mut screen, table, &UNITS[0]);
            }
            if self.tables.is_empty() {
                screen.line("There are no records of that yet.");
            }
        }
        Ok(Status::Done)
    }
}

/// Writes a table as rows of objects.
fn value(table: &Table) -> Value {
    let object = |row: ReadingRow| row.into_iter().map(|(head, cell)| (head.to_owned(), cell)).collect();
    let rows: Vec<Value> = table.values().into_iter().map(object).collect();
    json!({ "title": table.title, "lead": table.lead, "rows": rows, "notes": table.notes })
}
