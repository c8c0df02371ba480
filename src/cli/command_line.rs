use std::path::PathBuf;

use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{Args, CommandFactory, Parser, Subcommand};
use clap_complete::Shell;

use super::status::{Failure, Outcome, Status};
use super::{
    amend, arguments, calibrate, draft, guide, history, job, leak, map, practice, procedures, proofread,
    receive, records, rehearse, report, rig, server, share, shop,
};
use crate::console::{Screen, end_of_output, unwritten};

/// Guides vacuum tests of valve-body circuits and leaves a checked record of each.
///
/// Suction, solvents, compressed air, hot oil, springs and lifted vehicles can hurt. What the unit's service
/// information, local codes and a licensed technician say goes before anything that this program says.
#[derive(Debug, Parser)]
#[command(name = "spoolproof", version, max_term_width = 100)]
pub(crate) struct Cli {
    /// What to do; without it the first steps are shown.
    #[command(subcommand)]
    command: Option<Command>,
    /// The folder of the shop: rig, open sessions, records [default: the user's data folder]
    #[arg(long, global = true, value_name = "DIR", env = arguments::SHOP_VARIABLE, value_parser = arguments::shop_folder())]
    shop: Option<PathBuf>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Walk through a procedure at the bench and leave a record
    Guide(guide::Guide),
    /// Correct answers of a finished session in a new record; the old one stays
    Amend(amend::Amend),
    /// See what stands open and where a job stands, and note what was done for it
    Job(job::Jobs),
    /// Set the rig: be coached at the prompt, or have one pair of readings judged
    Calibrate(calibrate::Calibrate),
    /// Say what a reading means, or what a hole or a clearance would read
    Leak(leak::Leak),
    /// Describe the shop's rig, and have its parts checked against the job
    Rig(rig::Rig),
    /// See or set the shop's name and address
    Shop(shop::ShopCommand),
    /// Write a new procedure from a few plain questions
    Draft(draft::DraftCommand),
    /// Click on a procedure's picture where its ports lie
    Map(map::MapCommand),
    /// Walk through a procedure on a simulated rig; nothing enters the shop's records
    Rehearse(rehearse::Rehearse),
    /// Practise at a simulated rig with hidden defects, and be graded
    Practice(practice::Practice),
    /// Walk a procedure with each kind of answer to every question, without a rig
    Proofread(proofread::Proofread),
    /// List the procedures, and find them by unit, symptom or word
    Procedures(procedures::Procedures),
    /// Sign procedures and write them as packs to hand to somebody else
    Share(share::Share),
    /// Check a pack that was handed to you, see what it changes, and install it
    Receive(receive::Receive),
    /// See whom the shop trusts to sign procedures
    Trust(share::TrustCommand),
    /// Print a procedure as a paper form
    Worksheet(proofread::Worksheet),
    /// List, show and check what sessions have left
    Records(records::Records),
    /// Tell a job or a record in words: a page for the customer, and the figures behind it
    Report(report::ReportCommand),
    /// Ask what the shop's records say together
    History(history::History),
    /// See how the server stands that benches share, or prepare it
    Server(server::ServerCommand),
    /// Print a completion script for a shell
    Completions(Completions),
    /// Write the pages of the manual, one for each command, where `man` finds them
    Manual(Manual),
}

impl Cli {
    /// Parses the program's arguments and runs the command.
    pub(crate) fn run() -> std::process::ExitCode {
        let mut status = Cli::parsed().unwrap_or_else(|failure| failure.report());
        if let Some(why) = end_of_output() {
            status = status.max(Failure::wrong(format!("standard output can't be written: {why}")).report());
        }
        status.into()
    }

    fn parsed() -> Outcome {
        let cli = match Cli::try_parse() {
            Ok(cli) => cli,
            Err(mut error) => {
                // Its usage names every flag that was given, the shop as if it were wanted.
                if let Some(ContextValue::StyledStr(usage)) = error.get(ContextKind::Usage) {
                    let usage = usage.to_string().replace(" --shop <DIR>", "");
                    error.insert(ContextKind::Usage, ContextValue::StyledStr(usage.into()));
                }
                // Of two that do not go together its usage shows the one that was named first, as if that were meant.
                if error.kind() == ErrorKind::ArgumentConflict {
                    error.remove(ContextKind::Usage);
                }
                let printed = error.print();
                // Help and version are printed the same way, and are no error.
                if error.use_stderr() {
                    return Ok(Status::Wrong);
                }
                printed.unwrap_or_else(unwritten);
                return Ok(Status::Done);
            }
        };
        let shop = arguments::ShopFolder(cli.shop);
        let Some(command) = cli.command else { return Ok(first_steps()) };
        match command {
            Command::Guide(guide) => guide.run(&shop),
            Command::Amend(amend) => amend.run(&shop),
            Command::Job(jobs) => jobs.run(&shop),
            Command::Calibrate(calibrate) => calibrate.run(&shop),
            Command::Leak(leak) => leak.run(&shop),
            Command::Rig(rig) => rig.run(&shop),
            Command::Shop(command) => command.run(&shop),
            Command::Draft(draft) => draft.run(&shop),
            Command::Map(map) => map.run(),
            Command::Rehearse(rehearse) => rehearse.run(&shop),
            Command::Practice(practice) => practice.run(&shop),
            Command::Proofread(proofread) => proofread.run(&shop),
            Command::Procedures(procedures) => procedures.run(&shop),
            Command::Share(share) => share.run(&shop),
            Command::Receive(receive) => receive.run(&shop),
            Command::Trust(trust) => trust.run(&shop),
            Command::Worksheet(worksheet) => worksheet.run(&shop),
            Command::Records(records) => records.run(&shop),
            Command::Report(report) => report.run(&shop),
            Command::History(history) => history.run(&shop),
            Command::Server(server) => server.run(&shop),
            Command::Completions(completions) => completions.run(),
            Command::Manual(manual) => manual.run(),
        }
    }
}

/// What who has just come to the program does first, in this order.
const FIRST_STEPS: [(&str, &str); 7] = [
    ("rehearse", "see a whole test; no rig is needed"),
    ("practice", "work at a simulated rig, and be graded"),
    ("rig set", "describe the rig that you have"),
    ("guide rig-commissioning", "prove it"),
    ("procedures", "see for which units there are procedures"),
    ("guide NAME", "test a unit by one of them"),
    ("help", "see all commands"),
];

fn first_steps() -> Status {
    let mut screen = Screen::stdout();
    screen.line("First steps:");
    for (command, what) in FIRST_STEPS {
        screen.item(&format!("  spoolproof {command:<24} "), what);
    }
    Status::Done
}

#[derive(Debug, Args)]
struct Completions {
    /// Which shell
    shell: Shell,
}

impl Completions {
    fn run(self) -> Outcome {
        let mut script = Vec::new();
        clap_complete::generate(self.shell, &mut Cli::command(), "spoolproof", &mut script);
        Screen::stdout().document(&String::from_utf8_lossy(&script));
        Ok(Status::Done)
    }
}

#[derive(Debug, Args)]
struct Manual {
    /// The folder to write them to, such as ~/.local/share/man/man1
    folder: PathBuf,
}

impl Manual {
    fn run(self) -> Outcome {
        let failed = |error| Failure::file(&self.folder, error);
        std::fs::create_dir_all(&self.folder).map_err(failed)?;
        clap_mangen::generate_to(Cli::command(), &self.folder).map_err(failed)?;
        Ok(Status::Done)
    }
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use clap::Parser;

    use super::{Cli, FIRST_STEPS};

    #[test]
    fn the_command_line_is_sound_and_every_argument_of_it_explained() {
        fn check(command: &clap::Command) {
            let name = command.get_name().to_owned();
            assert!(command.get_about().is_some(), "{name} is not explained");
            for argument in command.get_arguments() {
                assert!(argument.get_help().is_some(), "{} of {name} is not explained", argument.get_id());
            }
            command.get_subcommands().for_each(check);
        }
        let mut command = Cli::command();
        command.build();
        Cli::command().debug_assert();
        check(&command);
    }

    #[test]
    fn each_of_the_first_steps_is_a_command_line() {
        for (step, _) in FIRST_STEPS.iter().filter(|(step, _)| *step != "help") {
            let line = ["spoolproof"].into_iter().chain(step.split(' '));
            assert!(Cli::try_parse_from(line).is_ok_and(|cli| cli.command.is_some()), "{step}");
        }
    }
}
