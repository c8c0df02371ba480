//! The command line: one small file a command, each parses, calls, prints and gives an exit status.

mod air;
mod amend;
mod arguments;
mod calibrate;
mod chosen_records;
mod command_line;
mod completions;
mod draft;
mod gauge;
mod guide;
mod history;
mod indexed;
mod leak;
mod leak_document;
mod log;
mod procedures;
mod proofread;
mod quantities;
mod receive;
mod received;
mod records;
mod records_audit;
mod records_discard;
mod records_export;
mod records_report;
mod rehearse;
mod rig;
mod rig_dialogue;
mod rig_file;
mod rig_parts;
mod share;
mod status;
mod trust;
mod walking;
mod worksheet;

pub(crate) use command_line::Cli;
