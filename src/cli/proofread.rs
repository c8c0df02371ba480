use std::path::PathBuf;

use clap::Args;

use super::arguments::{ShopFolder, source};
use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::proofread::proofread;

/// Try every way through a procedure, without a rig.
///
/// Finds what is written wrong, what goes wrong on some answers, what no answer leads to, and what a technician will
/// stumble over. Exit status 1 where there are errors.
#[derive(Debug, Args)]
pub(super) struct Proofread {
    /// File of the procedure, or the name of a shipped or installed one
    procedure: PathBuf,
    /// Print one JSON document, for editors
    #[arg(long)]
    json: bool,
    /// Write the answers that lead to the first finding to a file, for guide --answers
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
}

impl Proofread {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let report = proofread(source(shop, &self.procedure)?);
        let mut screen = Screen::stdout();
        if self.json {
            screen.json(&report.json());
        } else {
            screen.report(&report.text());
        }
        if let (Some(path), Some(answers)) = (&self.answers, report.answers()) {
            std::fs::write(path, answers).map_err(|error| Failure::file(path, error))?;
        }
        Ok(if report.is_sound() { Status::Done } else { Status::NotInOrder })
    }
}
