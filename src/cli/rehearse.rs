use std::path::PathBuf;

use clap::Args;

use super::air::AirArguments;
use super::arguments::{ShopFolder, program};
use super::status::{Failure, Outcome};
use super::walking::{begin, input, walk};
use crate::console::Screen;
use crate::procedure::{Program, SHIPPED, nearest};
use crate::quantity::UNITS;
use crate::record::Mode;
use crate::rehearse::{ChosenLeak, Leaks, Technician};
use crate::rig::simulated::{Settings, SimulatedRig};
use crate::session::Person;
use crate::share::Outline;

/// Walk through a procedure on a simulated rig, with a simulated technician or by hand.
///
/// Its record says that it is a rehearsal and is kept apart from the shop's.
#[derive(Debug, Args)]
pub(super) struct Rehearse {
    /// Name of a shipped or installed procedure, or the file of any other
    #[arg(default_value = SHIPPED[0].id)]
    procedure: PathBuf,
    /// Answer yourself; only the dial is simulated
    #[arg(long)]
    by_hand: bool,
    /// Give a circuit a leak, as in --leak "clutch feed limit=0.020in"; once for each
    #[arg(long, value_name = "CIRCUIT=HOLE")]
    leak: Vec<ChosenLeak>,
    /// Number that draws the other leaks and the dial's errors; the same number gives the same rehearsal
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// The air that the simulated rig stands in
    #[command(flatten)]
    air: AirArguments,
    /// Take answers from a file first, one a line; goes with --by-hand
    #[arg(long, value_name = "FILE", requires = "by_hand")]
    answers: Option<PathBuf>,
}

impl Rehearse {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open()?;
        let program = program(&shop, &self.procedure)?;
        are_circuits(&self.leak, &program)?;
        let shop = shop.rehearsals().map_err(Failure::wrong)?;
        let begun = begin(&shop, program, Some(&self.procedure), Mode::Rehearsal, None, None)?;
        let settings = Settings { barometer: self.air.barometer()?.station(), ..Settings::default() };
        let rig = SimulatedRig::new(self.seed, settings);
        let person = Person::new(Screen::stdout(), input(self.answers.as_deref())?, &UNITS[0]);
        let technician = Technician::new(person, rig, Leaks::new(self.seed, self.leak), self.by_hand);
        walk(shop, begun, Box::new(technician))
    }
}

/// Refuses a leak of a circuit that the procedure does not have.
fn are_circuits(leaks: &[ChosenLeak], program: &Program) -> Result<(), Failure> {
    // A procedure that breaks on the plain way says so when it is walked.
    let Ok(outline) = Outline::of(program) else { return Ok(()) };
    let known: Vec<_> = outline.circuits.iter().map(|circuit| circuit.name.as_str()).collect();
    // What a few straight walks do not come by may still be written in it.
    let is_written = |name: &str| {
        let quoted = format!("\"{name}\"");
        program.source.files.iter().any(|file| file.text.contains(&quoted))
    };
    let unknown = leaks.iter().find(|leak| {
        let name = leak.circuit.as_str();
        !known.contains(&name) && !is_written(name)
    });
    let Some(ChosenLeak { circuit, .. }) = unknown else { return Ok(()) };
    let near = nearest(circuit, known.iter().copied());
    let near = near.map(|near| format!(" Did you mean \"{near}\"?")).unwrap_or_default();
    Err(Failure::wrong(format!(
        "{} has no circuit \"{circuit}\", which is to leak.{near} Its circuits are {}.",
        program.source.id,
        known.join(", ")
    )))
}
