use std::path::PathBuf;

use clap::{Args, Subcommand};

use super::answer::updated;
use super::{baseline, by, class, drift, failing, limits, repairs, savings, spread};
use crate::cli::arguments::ShopFolder;
use crate::cli::status::{Failure, Outcome, Status};
use crate::console::Screen;

/// Ask what the shop's records say together.
///
/// The answers come from an index beside the records, which takes up new ones by itself. Rehearsals are no part of it, and a
/// record that was amended counts as amended. A record is never changed in its place: records audit finds one that was, and
/// after it was put right, history rebuild reads all of them again.
#[derive(Debug, Args)]
pub(crate) struct History {
    #[command(subcommand)]
    question: Question,
    /// Print one JSON document instead
    #[arg(long, global = true)]
    json: bool,
    /// Write a page to this file instead, to read in a browser and to print
    #[arg(long, global = true, value_name = "FILE", conflicts_with = "json")]
    html: Option<PathBuf>,
}

#[derive(Debug, Subcommand)]
enum Question {
    /// Which circuits fail most
    Failing(failing::Failing),
    /// How the readings of a circuit spread
    Spread(spread::Spread),
    /// Verdicts and readings by technician, rig or month
    By(by::By),
    /// Circuits before and after what was decided about them
    Repairs(repairs::Repairs),
    /// Which records other limits would judge otherwise
    Limits(limits::Limits),
    /// Limits proposed from units that you know are good
    Baseline(baseline::Baseline),
    /// What the shop saved by the figures at hand
    Savings(savings::Savings),
    /// Control charts of the rig's checks against its calibrations
    Drift(drift::Drift),
    /// How well a class reads: repeatability and reproducibility
    Class(class::Class),
    /// Throw the index away and read every record again
    Rebuild,
}

impl History {
    pub(crate) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open_to_read()?;
        let is_rebuilt = matches!(self.question, Question::Rebuild);
        let Some(index) = updated(&shop, is_rebuilt)? else { return Ok(Status::Paused) };
        let answer = match self.question {
            Question::Failing(question) => question.answer(&index)?,
            Question::Spread(question) => question.answer(&index)?,
            Question::By(question) => question.answer(&index)?,
            Question::Repairs(question) => question.answer(&index)?,
            Question::Limits(question) => question.answer(&index)?,
            Question::Baseline(question) => question.answer(&index)?,
            Question::Savings(question) => question.answer(&index)?,
            Question::Drift(question) => question.answer(&index)?,
            Question::Class(question) => question.answer(&index)?,
            Question::Rebuild => {
                let n = index.n_records().map_err(Failure::wrong)?;
                Screen::stdout().line(&format!("The index was made anew from {n} records."));
                return Ok(Status::Done);
            }
        };
        answer.give(self.json, self.html.as_deref())
    }
}
