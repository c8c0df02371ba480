use std::path::PathBuf;

use clap::Args;

use super::dialogue::Dialogue;
use super::saving::{Place, saved};
use crate::cli::arguments::{ShopFolder, compile, source};
use crate::cli::asker::Stopped;
use crate::cli::status::{Failure, Outcome};
use crate::console::Screen;

/// Write a new procedure from a few plain questions, to go on with in an editor.
///
/// Asks for the unit and its circuits. Limits that nobody knows yet stay marked as to be found, or are proposed from readings on
/// units that you know are good. It never writes over a file; left with Ctrl-C, it writes what was answered so far.
#[derive(Debug, Args)]
pub(crate) struct Draft {
    /// Start from a procedure: its name or file; each of its circuits is offered
    #[arg(long, value_name = "PROCEDURE")]
    from: Option<PathBuf>,
    /// The file to write, ending in .rhai [default: named after the unit, in this folder]
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

impl Draft {
    pub(crate) fn run(self, shop: &ShopFolder) -> Outcome {
        let place = self.output.map(Place::named).transpose()?.unwrap_or_default();
        let from = self.from.map(|named| compile(source(shop, &named)?)).transpose()?;
        let mut screen = Screen::stdout();
        let mut dialogue = Dialogue::open(&mut screen)?;
        let stopped = dialogue.walk(from.as_ref()).err();
        let draft = dialogue.into_draft();
        if let Some(Stopped::Failed(why)) = &stopped {
            Failure::wrong(format!("nothing more can be typed: {why}")).report();
        }
        saved(&mut screen, &draft, place, stopped.is_some())
    }
}
