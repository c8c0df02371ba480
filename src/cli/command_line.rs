use clap::{Parser, Subcommand};

use super::status::Status;
use super::{amend, arguments, calibrate, completions, guide, proofread, records, rehearse, rig, worksheet};

/// Guides vacuum tests of valve-body circuits and leaves a checked record of each.
///
/// Suction, solvents, compressed air, hot oil, springs and lifted vehicles can hurt. What the unit's service
/// information, local codes and a licensed technician say goes before anything that this program says.
#[derive(Debug, Parser)]
#[command(name = "spoolproof", version, max_term_width = 100)]
pub(crate) struct Cli {
    /// What to do.
    #[command(subcommand)]
    command: Command,
    /// The folder of the shop: rig, open sessions, records [default: the user's data folder]
    #[arg(long, global = true, value_name = "DIR", env = "SPOOLPROOF_SHOP")]
    shop: Option<std::path::PathBuf>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Walk through a procedure at the bench and leave a record
    Guide(guide::Guide),
    /// Correct answers of a finished session in a new record; the old one stays
    Amend(amend::Amend),
    /// Set the rig: be coached at the prompt, or have one pair of readings judged
    Calibrate(calibrate::Calibrate),
    /// Describe the shop's rig, and have its parts checked against the job
    Rig(rig::Rig),
    /// Walk through a procedure on a simulated rig; nothing enters the shop's records
    Rehearse(rehearse::Rehearse),
    /// Try every way through a procedure, without a rig
    Proofread(proofread::Proofread),
    /// Print a procedure as a paper form
    Worksheet(worksheet::Worksheet),
    /// List, show and check what sessions have left
    Records(records::Records),
    /// Print a completion script for a shell
    Completions(completions::Completions),
}

impl Cli {
    /// Parses the program's arguments and runs the command.
    pub(crate) fn run() -> std::process::ExitCode {
        let cli = match Cli::try_parse() {
            Ok(cli) => cli,
            Err(error) => {
                // Help and version are printed the same way, and are no error.
                let _ = error.print();
                return if error.use_stderr() { Status::Wrong } else { Status::Done }.into();
            }
        };
        let shop = arguments::ShopFolder(cli.shop);
        let done = match cli.command {
            Command::Guide(guide) => guide.run(&shop),
            Command::Amend(amend) => amend.run(&shop),
            Command::Calibrate(calibrate) => calibrate.run(&shop),
            Command::Rig(rig) => rig.run(&shop),
            Command::Rehearse(rehearse) => rehearse.run(&shop),
            Command::Proofread(proofread) => proofread.run(),
            Command::Worksheet(worksheet) => worksheet.run(),
            Command::Records(records) => records.run(&shop),
            Command::Completions(completions) => completions.run(),
        };
        done.unwrap_or_else(|failure| failure.report()).into()
    }
}
