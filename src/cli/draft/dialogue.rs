use super::limits::{limits, told};
use super::texts::{HEADING, heading, list, long, repairs, short};
use crate::cli::asker::{Asker, Stopped};
use crate::cli::quantities::bore;
use crate::cli::status::Failure;
use crate::console::Screen;
use crate::draft::{Body, Draft, DraftCircuit, Feature, earlier};
use crate::leak::Land;
use crate::procedure::{MOST_CIRCUITS, Program};
use crate::quantity::Length;

/// The dialogue, and what was answered so far.
pub(super) struct Dialogue<'a> {
    asker: Asker<'a>,
    draft: Draft,
    open: Option<DraftCircuit>,
}

/// What is typed in place of a name to have the last circuit asked for once more.
const AGAIN: &str = "again";

/// What becomes of a circuit of an earlier procedure.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Fate {
    Keep,
    Change,
    LeaveOut,
}

impl<'a> Dialogue<'a> {
    /// Opens the prompt.
    pub(super) fn open(screen: &'a mut Screen) -> Result<Dialogue<'a>, Failure> {
        let asker = Asker::open(screen)?;
        Ok(Dialogue { asker, draft: Draft::default(), open: None })
    }

    /// Returns what was answered, with the circuit that was begun.
    pub(super) fn into_draft(mut self) -> Draft {
        self.draft.circuits.extend(self.open);
        self.draft
    }

    /// Asks for everything.
    pub(super) fn walk(&mut self, from: Option<&Program>) -> Result<(), Stopped> {
        self.asker.screen.paragraph(
            0,
            "A new procedure. Enter alone takes what stands in brackets; what you don't know can be left out and put in later. \
             In place of a name, \"again\" asks for the last circuit once more. Ctrl-C stops and keeps what is answered. \
             Limits are standard readings: what a rig set to 25 and 5 inHg through a 0.035 in hole shows.",
        );
        self.asker.screen.line("");
        let title = from.and_then(|from| from.title().ok());
        let earlier_unit = title.as_ref().and_then(|title| title.unit.clone()).unwrap_or_default();
        self.draft.unit = loop {
            let typed = self.asker.ask("Unit, as in Merle M2", &earlier_unit, |text| short(text, 36))?;
            match typed {
                Some(unit) => break unit,
                None if !earlier_unit.is_empty() => break earlier_unit,
                None => self.asker.screen.paragraph(2, "A procedure is for one unit; type its name."),
            }
        };
        let room = HEADING - 2 - self.draft.unit.chars().count();
        self.draft.part =
            self.asker.ask("The part of it that is tested", "all of it", |text| short(text, room))?;
        if let Some(from) = from {
            self.offer(from)?;
        }
        while self.draft.circuits.len() < MOST_CIRCUITS {
            let Some(name) = self.name("Name of the next circuit, Enter alone after the last", "")? else {
                if !self.draft.circuits.is_empty() {
                    return Ok(());
                }
                self.asker
                    .screen
                    .paragraph(2, "A procedure has at least one circuit; type what it is called.");
                continue;
            };
            if name == AGAIN {
                if let Some(last) = self.draft.circuits.pop() {
                    self.change(last)?;
                }
                continue;
            }
            let feature = self.feature()?;
            self.circuit(DraftCircuit {
                section: self.draft.part.clone(),
                ..DraftCircuit::new(name, feature)
            })?;
        }
        Ok(())
    }

    /// Offers the circuits of an earlier procedure, one by one.
    fn offer(&mut self, from: &Program) -> Result<(), Stopped> {
        let (title, circuits) = match earlier(from, &self.draft.unit) {
            Ok(found) => found,
            Err(fault) => return Err(Stopped::Failed(from.source.render(&[fault]))),
        };
        self.draft.from = Some(format!("{} {}", from.source.id, title.version));
        for circuit in circuits {
            let port = circuit.port.as_ref().map(|port| format!(", port {port}")).unwrap_or_default();
            self.asker.screen.line("");
            let stands = format!("{}{port}: holds {}", circuit.name, told(&circuit.limits));
            self.asker.screen.paragraph(0, &stands);
            let fate = self.asker.ask("Keep it, change it or leave it out", "keep", fate)?;
            match fate.unwrap_or(Fate::Keep) {
                Fate::Keep => self.draft.circuits.push(circuit),
                Fate::Change => self.change(circuit)?,
                Fate::LeaveOut => {}
            }
        }
        self.asker.screen.line("");
        Ok(())
    }

    /// Asks for a circuit once more; what stands is offered.
    fn change(&mut self, circuit: DraftCircuit) -> Result<(), Stopped> {
        self.open = Some(circuit.clone());
        let name = self.name("Name of the circuit", &circuit.name)?;
        self.circuit(DraftCircuit { name: name.unwrap_or(circuit.name.clone()), ..circuit })
    }

    /// Asks for a name that no other circuit has.
    fn name(&mut self, words: &str, now: &str) -> Result<Option<String>, Stopped> {
        let known: Vec<_> = self.draft.circuits.iter().map(|circuit| circuit.name.to_lowercase()).collect();
        self.asker.ask(words, now, |text| {
            let name = heading(text)?;
            if known.contains(&name.to_lowercase()) {
                return Err("a circuit of that name is there already; each name stands once".to_owned());
            }
            Ok(name)
        })
    }

    fn feature(&mut self) -> Result<Feature, Stopped> {
        for (index, feature) in Feature::ALL.iter().enumerate() {
            self.asker.screen.item(&format!("  {} ", index + 1), feature.told());
        }
        let last = Feature::ALL.len();
        let picked = self.asker.ask("What is at its port", &last.to_string(), |text| {
            let number = text.parse().ok().filter(|number| (1..=last).contains(number));
            number.ok_or_else(|| format!("type a number from 1 to {last}"))
        })?;
        Ok(Feature::ALL[picked.unwrap_or(last) - 1])
    }

    /// Asks for the rest of a circuit and adds it; what is answered so far stays where somebody leaves in between.
    fn circuit(&mut self, circuit: DraftCircuit) -> Result<(), Stopped> {
        let Dialogue { asker, open, .. } = self;
        let circuit = open.insert(circuit);
        let port = circuit.port.clone().unwrap_or("not known".to_owned());
        if let Some(port) = asker.ask("Port that the hose goes to", &port, heading)? {
            circuit.port = Some(port);
        }
        if let Body::Of(feature) = circuit.body {
            circuit.set_up = Some(feature.set_up(circuit.port.as_deref()));
        }
        if let Some(set_up) = &circuit.set_up {
            asker.screen.paragraph(2, &format!("Before the reading: {set_up}"));
        }
        let stands = if circuit.set_up.is_some() { "as it stands" } else { "nothing" };
        if let Some(set_up) = asker.ask("What to do before the reading", stands, long)? {
            circuit.set_up = Some(set_up);
        }
        circuit.limits = limits(asker, &circuit.limits)?;
        land(asker, circuit)?;
        let symptoms = circuit.symptoms.join(", ");
        let stands = if symptoms.is_empty() { "none" } else { &symptoms };
        if let Some(symptoms) = asker.ask("Complaints that a leak causes, commas between", stands, list)? {
            circuit.symptoms = symptoms;
        }
        let known = circuit.repairs.clone();
        let stands = known.iter().map(|repair| repair.does.as_str()).collect::<Vec<_>>().join(", ");
        let stands = if stands.is_empty() { "none" } else { &stands };
        if let Some(repaired) =
            asker.ask("What repairs it, commas between", stands, |text| repairs(text, &known))?
        {
            circuit.repairs = repaired;
        }
        self.draft.circuits.extend(self.open.take());
        self.asker.screen.line("");
        Ok(())
    }
}

fn fate(text: &str) -> Result<Fate, String> {
    match text.to_lowercase().as_str() {
        "k" | "keep" => Ok(Fate::Keep),
        "c" | "change" => Ok(Fate::Change),
        "l" | "leave" | "leave out" | "leave it out" => Ok(Fate::LeaveOut),
        _ => Err("type keep, change or leave".to_owned()),
    }
}

/// Asks for the land that seals the circuit.
fn land(asker: &mut Asker<'_>, circuit: &mut DraftCircuit) -> Result<(), Stopped> {
    let stands = |length: Option<Length>| length.map_or("not known".to_owned(), |length| length.to_string());
    let diameter = circuit.land.as_ref().map(|land| land.diameter());
    let Some((diameter, unit)) = asker.ask("Bore of the land that seals it", &stands(diameter), |text| {
        let (diameter, unit) = bore(text)?;
        // Whether it can be a land's does not hang on the length.
        let likely = Length::constant(0.01);
        Land::new(diameter, likely, 0.0).map_err(|error| error.to_string()).map(|_| (diameter, unit))
    })?
    else {
        return Ok(());
    };
    let length = circuit.land.as_ref().map(|land| land.length());
    let land = asker.ask("Length of that land", &stands(length), |text| {
        let (length, _) = bore(text)?;
        Land::new(diameter, length, 0.0).map_err(|error| error.to_string())
    })?;
    let kept = length.and_then(|length| Land::new(diameter, length, 0.0).ok());
    circuit.land = land.or(kept);
    if circuit.land.is_none() {
        asker.screen.paragraph(2, "Without its length the land is left out.");
    }
    circuit.land_unit = unit;
    Ok(())
}
