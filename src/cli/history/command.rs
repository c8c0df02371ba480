use std::path::PathBuf;

use clap::{Args, Subcommand};

use super::answer::{ChosenUnit, Narrowing, asking, tell_held_back, told_mode, updated};
use super::baseline::BaselineArguments;
use super::class::ClassArguments;
use super::counted::CountedBy;
use super::{class, counted, limits, over_time, overview};

use crate::cli::arguments::{ChosenMode, ShopFolder};
use crate::cli::quantities;
use crate::cli::server::ChosenServer;
use crate::cli::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::history::{Asked, IndexError};
use crate::quantity::{Pressure, so_many};

/// Ask what the shop's records say together.
///
/// The answers come from an index beside the records, which takes up new ones by itself. They are about the bench;
/// rehearsals and attempts at exercises, in which nothing was measured, are asked about by themselves with --mode. A
/// record that was amended counts as amended. A record is never changed in its place: records audit finds one that was,
/// and after it was put right, history rebuild reads all of them again.
#[derive(Debug, Args)]
pub(crate) struct History {
    #[command(subcommand)]
    question: HistoryQuestion,
    #[command(flatten)]
    records: Narrowing,
    #[command(flatten)]
    chosen: ChosenMode,
    /// Print one JSON document instead
    #[arg(long, global = true)]
    json: bool,
    /// Write a page to this file instead, to read in a browser and to print
    #[arg(long, global = true, value_name = "FILE", conflicts_with = "json")]
    html: Option<PathBuf>,
    #[command(flatten)]
    server: ChosenServer,
    /// Ask the shop's own records, though it has a server
    #[arg(long, global = true)]
    here: bool,
}

#[derive(Debug, Subcommand)]
enum HistoryQuestion {
    /// What a class or a shop looks at first, each as a picture with its sentence: what fails most, before and after
    /// repairs, money, the hands of a class, the rigs
    Overview,
    /// Which circuits fail most
    Failing(ChosenUnit),
    /// How the readings of a circuit spread
    Spread {
        /// The circuit
        circuit: String,
        #[command(flatten)]
        unit: ChosenUnit,
    },
    /// Verdicts and readings by technician, rig or month
    By {
        /// What to set side by side
        #[arg(value_enum)]
        by: CountedBy,
        /// Of this circuit only
        #[arg(long)]
        circuit: Option<String>,
        #[command(flatten)]
        unit: ChosenUnit,
    },
    /// Circuits before and after what was decided about them
    Repairs(ChosenUnit),
    /// Which records other limits would judge otherwise
    Limits {
        /// The circuit
        circuit: String,
        /// Holds at this standard reading and higher [default: as it is]
        #[arg(long, value_name = "VACUUM", value_parser = quantities::vacuum)]
        holds: Option<Pressure>,
        /// Leaks at this standard reading and less [default: as it is]
        #[arg(long, value_name = "VACUUM", value_parser = quantities::vacuum)]
        leaks: Option<Pressure>,
        /// Of a passage that is to be open: right between these two
        #[arg(long, num_args = 2, value_name = "VACUUM", value_parser = quantities::vacuum, conflicts_with_all = ["holds", "leaks"])]
        between: Option<Vec<Pressure>>,
        #[command(flatten)]
        unit: ChosenUnit,
    },
    /// Limits proposed from units that you know are good
    ///
    /// Nobody but you can say which were: name their sessions, or say that all of them were. A record whose circuit
    /// holds by limits that are in doubt is no proof.
    Baseline(BaselineArguments),
    /// What the repairs that were decided would save against replacements, by the figures at hand
    Savings(ChosenUnit),
    /// Control charts of the rig's checks against its calibrations
    Drift {
        /// How many checks to show, the latest
        #[arg(long, default_value_t = 50, value_parser = clap::value_parser!(u32).range(2..=1000))]
        last: u32,
        #[command(flatten)]
        unit: ChosenUnit,
    },
    /// How well a class reads: repeatability and reproducibility
    ///
    /// Each technician walks the procedure class-study once on the same pieces, all in one shop folder or with their
    /// records taken into one by records import; the latest walk of each counts.
    Class(ClassArguments),
    /// Throw the index away and read every record again
    Rebuild,
}

impl History {
    pub(crate) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open_to_read()?;
        let is_rebuilt = matches!(self.question, HistoryQuestion::Rebuild);
        let server = if self.here { None } else { self.server.address(&shop)? };
        let ChosenMode { mode } = self.chosen;
        let Some(mut index) = updated(&shop, server.as_ref(), mode, is_rebuilt)? else {
            return Ok(Status::Paused);
        };
        let own = if server.is_none() { Some(&shop) } else { None };
        let asked = Asked { by: asking(&shop, mode), ..self.records.asked(&index)? };
        index.about(match &self.question {
            HistoryQuestion::Savings(unit) | HistoryQuestion::Drift { unit, .. } => unit.of(&index, asked)?,
            _ => asked,
        });
        let mut answer = match self.question {
            HistoryQuestion::Overview => overview::overview(&index, own)?,
            HistoryQuestion::Failing(unit) => counted::failing(&index, &unit)?,
            HistoryQuestion::Spread { circuit, unit } => limits::spread(&index, &circuit, &unit)?,
            HistoryQuestion::By { by, circuit, unit } => counted::by(&index, by, circuit.as_deref(), &unit)?,
            HistoryQuestion::Repairs(unit) => over_time::repairs(&index, &unit)?,
            HistoryQuestion::Limits { circuit, holds, leaks, between, unit } => {
                limits::judged(&index, &circuit, (holds, leaks), between.as_deref(), &unit)?
            }
            HistoryQuestion::Baseline(arguments) => arguments.answer(&index)?,
            HistoryQuestion::Savings(_) => over_time::savings(&index)?,
            HistoryQuestion::Drift { last, .. } => over_time::drift(&index, last)?,
            HistoryQuestion::Class(arguments) => class::class(&index, own, &arguments)?,
            HistoryQuestion::Rebuild => {
                let n = index.n_records()?;
                Screen::stdout().line(&format!("The index was made anew from {}.", so_many(n, "record")));
                return Ok(Status::Done);
            }
        };
        tell_held_back(&index)?;
        let about = format!("{}{}", told_mode(mode), self.records.told());
        answer.title += &about;
        answer.tables.iter_mut().for_each(|table| table.title += &about);
        answer.give(self.json, self.html.as_deref())
    }
}

impl From<IndexError> for Failure {
    fn from(error: IndexError) -> Failure {
        Failure::wrong(error)
    }
}
