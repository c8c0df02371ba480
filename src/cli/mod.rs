//! The command line: one small file a command, each parses, calls, prints and gives an exit status.

mod amend;
mod arguments;
mod calibrate;
mod command_line;
mod complaints;
mod draft;
mod guide;
mod history;
mod indexed;
mod job;
mod job_repairs;
mod job_screen;
mod leak;
mod map;
mod open_sessions;
mod page;
mod practice;
mod procedures;
mod proofread;
mod quantities;
mod receipt;
mod receive;
mod records;
mod rehearse;
mod report;
mod rig;
mod rig_commissioned;
mod rig_dialogue;
mod rig_flags;
mod server;
mod sessions;
mod share;
mod shop;
mod status;

pub(crate) use command_line::Cli;
