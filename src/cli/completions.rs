use clap::{Args, CommandFactory};
use clap_complete::Shell;

use super::Cli;
use super::status::{Outcome, Status};
use crate::console::Screen;

/// Prints a completion script, to be put where the shell looks for them.
#[derive(Debug, Args)]
pub(super) struct Completions {
    /// Which shell
    shell: Shell,
}

impl Completions {
    pub(super) fn run(self) -> Outcome {
        let mut script = Vec::new();
        clap_complete::generate(self.shell, &mut Cli::command(), "spoolproof", &mut script);
        Screen::stdout().document(&String::from_utf8_lossy(&script));
        Ok(Status::Done)
    }
}
