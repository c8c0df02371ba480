use std::path::PathBuf;

use clap::Args;

use super::arguments::{ShopFolder, program};
use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::proofread::{answers_of, worksheet};

/// Print a procedure as a paper form, for a bench without a computer.
///
/// It has a numbered field for everything that the procedure may ask, and says when that is. Fill it in at
/// the bench; --filled makes answers of it.
#[derive(Debug, Args)]
pub(super) struct Worksheet {
    /// File of the procedure, or the name of a shipped one
    procedure: PathBuf,
    /// Make the answers for guide --answers of a filled form: lines like 12: 22.5
    #[arg(long, value_name = "FORM")]
    filled: Option<PathBuf>,
}

impl Worksheet {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let program = program(&shop.open()?, &self.procedure)?;
        if let Some(path) = &self.filled {
            let form = std::fs::read_to_string(path)
                .map_err(|error| Failure::wrong(format!("{}: {error}", path.display())))?;
            let keyed = answers_of(&program, &form).map_err(Failure::wrong)?;
            for left in &keyed.left_out {
                Screen::stderr().item("left out: ", left);
            }
            Screen::stdout().document(&keyed.answers);
            return Ok(Status::Done);
        }
        let text =
            worksheet(&program).map_err(|fault| Failure::not_in_order(program.source.render(&[fault])))?;
        Screen::stdout().document(&text);
        Ok(Status::Done)
    }
}
