use std::path::PathBuf;

use clap::Args;

use super::arguments::{ShopFolder, program};
use super::status::{Outcome, Status};
use crate::console::Screen;
use crate::proofread::worksheet;

/// Print a procedure as a paper form, for a bench without a computer.
///
/// It has a numbered field for everything that the procedure may ask, and says when that is. Fill it in at
/// the bench; guide asks for its fields in the same order.
#[derive(Debug, Args)]
pub(super) struct Worksheet {
    /// File of the procedure, or the name of a shipped one
    procedure: PathBuf,
}

impl Worksheet {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let program = program(&shop.open()?, &self.procedure)?;
        Screen::stdout().document(&worksheet(&program));
        Ok(Status::Done)
    }
}
