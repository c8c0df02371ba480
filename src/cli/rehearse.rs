use std::path::PathBuf;

use clap::Args;

use super::arguments::{ShopFolder, program_or_pack};
use super::quantities::AirArguments;
use super::sessions::{Begun, begin, walk};
use super::status::{Failure, Outcome};
use crate::console::{Screen, is_interactive};
use crate::practice::{ChosenLeak, Leaks};
use crate::procedure::{LabelledReading, Program, SHIPPED, nearest};
use crate::quantity::UNITS;
use crate::record::Mode;
use crate::rehearse::Technician;
use crate::rig::simulated::{Chance, Settings, SimulatedRig};
use crate::session::{Person, Prompt, screens};

/// What draws the rig, its dial's errors, and by how little sound circuits leak, where nobody gives a number.
const USUAL_SEED: u64 = 1;
/// Lets the rig's parts be drawn apart from its dial.
const OF_THE_RIG: u64 = 0x7269_6773;

/// Walk through a procedure on a simulated rig, with a simulated technician; practice is by hand.
///
/// Its record says that it is a rehearsal and is kept apart from the shop's.
#[derive(Debug, Args)]
pub(super) struct Rehearse {
    /// Name of a shipped or installed procedure, or the file of any other
    #[arg(default_value = SHIPPED[0].id)]
    procedure: PathBuf,
    /// Make a circuit worn, leaks or sound, or give it a hole: --leak "clutch feed=worn", --leak "clutch
    /// feed=0.020in"; one reading of it only with its label: --leak "clutch feed: outboard=leaks". Once for each;
    /// every other circuit is sound
    #[arg(long, value_name = "CIRCUIT=STATE")]
    leak: Vec<ChosenLeak>,
    /// Draw which of the other circuits are worn, leak, or are too open or too tight, and the rig's parts and errors,
    /// with this number, and don't tell; the same number gives the same rehearsal
    #[arg(long, value_parser = seed)]
    seed: Option<u64>,
    /// The air that the simulated rig stands in
    #[command(flatten)]
    air: AirArguments,
}

impl Rehearse {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open()?;
        let program = program_or_pack(&shop, &self.procedure)?;
        are_circuits(&self.leak, &program)?;
        let shop = shop.of_mode(Mode::Rehearsal).map_err(Failure::wrong)?;
        let begun = begin(&shop, program, Some(&self.procedure), Mode::Rehearsal, None, None)?;
        let leaks = self.seed.map_or_else(|| Leaks::sound(USUAL_SEED), Leaks::drawn).with(self.leak);
        let begun = Begun { unit: Some(leaks.summary()), ..begun };
        let seed = self.seed.unwrap_or(USUAL_SEED);
        let settings =
            Settings::drawn(self.air.barometer(None)?.station(), &mut Chance::new(seed ^ OF_THE_RIG));
        let rig = SimulatedRig::new(seed, settings);
        if is_interactive() {
            let told = "It runs through to its end. A page at a time, or with everything left to you:\n\
                        spoolproof rehearse PROCEDURE | less\n\
                        spoolproof practice PROCEDURE";
            Screen::stdout().paragraph(screens::INDENT, told);
        }
        let prompt = Prompt::open(None).map_err(Failure::wrong)?;
        let person = Person::new(prompt, &UNITS[0]).with_prices(begun.opening.prices.clone());
        let technician = Technician::new(person, rig, leaks);
        walk(shop, begun, Box::new(technician))
    }
}

fn seed(text: &str) -> Result<u64, String> {
    text.parse()
        .map_err(|_| "a seed is a whole number, as in --seed 7: each draws a rehearsal of its own".to_owned())
}

/// Refuses a leak of a circuit, or of a reading, that the procedure does not have.
fn are_circuits(leaks: &[ChosenLeak], program: &Program) -> Result<(), Failure> {
    // A procedure that breaks on the plain way says so when it is walked.
    let Ok(outline) = program.outline() else { return Ok(()) };
    let circuits = outline.circuits.iter().map(|circuit| circuit.name.clone());
    let place = |reading: &LabelledReading| format!("{}: {}", reading.circuit, reading.label);
    let known: Vec<_> = circuits.chain(outline.readings.iter().map(place)).collect();
    // What a few straight walks do not come by may still be written in it.
    let is_written = |name: &str| {
        let quoted = format!("\"{name}\"");
        program.source.files.iter().any(|file| file.text.contains(&quoted))
    };
    let is_known = |place: &str| {
        let parts = place.split_once(": ");
        known.iter().any(|known| known == place)
            || is_written(place)
            || parts.is_some_and(|(circuit, label)| is_written(circuit) && is_written(label))
    };
    let of_circuits = outline.circuits.iter().map(|circuit| (circuit.name.clone(), circuit.limits));
    let limits: Vec<_> = of_circuits
        .chain(outline.readings.iter().map(|reading| (place(reading), reading.spot.limits)))
        .collect();
    for leak in leaks {
        let of_place = limits.iter().find(|(known, _)| *known == leak.place).and_then(|(_, limits)| *limits);
        if let Some(limits) = of_place.filter(|limits| !leak.state.fits(limits)) {
            let (meant, states) =
                if limits.is_window() { ("be open", "open, tight") } else { ("hold", "worn, leaks") };
            let place = &leak.place;
            return Err(Failure::wrong(format!(
                "{place} is to {meant}: write {place}=sound, {states} or a hole"
            )));
        }
    }
    let Some(ChosenLeak { place, .. }) = leaks.iter().find(|leak| !is_known(&leak.place)) else {
        return Ok(());
    };
    let near = nearest(place, known.iter().map(String::as_str));
    let near = near.map(|near| format!(" Did you mean \"{near}\"?")).unwrap_or_default();
    let names: Vec<_> = outline.circuits.iter().map(|circuit| circuit.name.as_str()).collect();
    Err(Failure::wrong(format!(
        "{} has no {} \"{place}\".{near} Its circuits are {}.",
        program.source.id,
        if place.contains(": ") { "reading" } else { "circuit" },
        names.join(", ")
    )))
}
