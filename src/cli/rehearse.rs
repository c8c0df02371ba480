use std::path::PathBuf;

use clap::Args;

use super::air::AirArguments;
use super::arguments::{ShopFolder, program};
use super::status::{Failure, Outcome};
use super::walking::{begin, input, walk};
use crate::console::Screen;
use crate::procedure::SHIPPED;
use crate::quantity::UNITS;
use crate::record::Mode;
use crate::rehearse::{ChosenLeak, Leaks, Technician};
use crate::rig::simulated::{Settings, SimulatedRig};
use crate::session::Person;

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
        let shop = shop.rehearsals().map_err(Failure::wrong)?;
        let begun = begin(&shop, program, Some(&self.procedure), Mode::Rehearsal, None)?;
        let settings = Settings { barometer: self.air.barometer()?.station(), ..Settings::default() };
        let rig = SimulatedRig::new(self.seed, settings);
        let person = Person::new(Screen::stdout(), input(self.answers.as_deref())?, &UNITS[0]);
        let technician = Technician::new(person, rig, Leaks::new(self.seed, self.leak), self.by_hand);
        walk(shop, begun, Box::new(technician))
    }
}
