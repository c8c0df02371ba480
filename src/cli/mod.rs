//! The command line: one small file a command, each parses, calls, prints and gives an exit status.

mod amend;
mod arguments;
mod begin;
mod calibrate;
mod command_line;
mod draft;
mod gauge;
mod guide;
mod history;
mod indexed;
mod leak;
mod log;
mod procedures;
mod proofread;
mod quantities;
mod receipt;
mod receive;
mod records;
mod rehearse;
mod rig;
mod rig_dialogue;
mod share;
mod status;
mod trust;
mod walk;
mod worksheet;

pub(crate) use command_line::Cli;
