//! The tests that look inside: modules of the crate, laid out as its floors are. They run as one program.

mod air;
mod cli;
mod draft;
mod drawings;
mod history;
mod leak;
mod lookalike;
mod oil;
mod page;
mod picture;
mod practice;
mod procedure;
mod proofread;
mod record;
mod rehearse;
mod rehearsed_units;
mod report;
mod rig;
mod session;
mod share;
mod stats;
mod support;
mod units;
