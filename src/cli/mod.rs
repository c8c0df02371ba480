//! The command line: one small file a command, each parses, calls, prints and gives an exit status.

mod amend;
mod arguments;
mod chosen_records;
mod command_line;
mod completions;
mod gauge;
mod guide;
mod log;
mod records;
mod records_audit;
mod rehearse;
mod status;
mod walking;

pub(crate) use command_line::Cli;
