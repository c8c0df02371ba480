//! The command line: one small file a command, each parses, calls, prints and gives an exit status.

mod air;
mod amend;
mod arguments;
mod calibrate;
mod chosen_records;
mod command_line;
mod completions;
mod gauge;
mod guide;
mod log;
mod proofread;
mod quantities;
mod records;
mod records_audit;
mod records_export;
mod records_report;
mod rehearse;
mod rig;
mod rig_dialogue;
mod rig_file;
mod status;
mod walking;
mod worksheet;

pub(crate) use command_line::Cli;
