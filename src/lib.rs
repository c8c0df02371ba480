//! A runner for vacuum tests of valve-body circuits: a procedure asks, a technician answers, a record remains.
//!
//! The floors of the house, each built on those below it only:
//!
//! ```text
//! cli         one small file a command: parse, call, print, exit status
//! report      what sessions left, told in words: text, HTML with pictures, CSV, JSON Lines
//! history     the index of the shop and what it answers: trends, spreads, repairs, drift, class studies
//! proofread   every kind of answer to every question    rehearse    simulated technician
//! draft       a new procedure's text from plain answers
//! share       packs, keys, trust, what a new version changes, where procedures live
//! session     desk at the prompt, journal, recorder, runner, screens
//! procedure   the Rhai host: sources, checks, the words of the language, the walk and the desk it asks
//! record      questions, answers, events and their fold; schema, digest, store, shop
//! leak        assessment, uncertainty, verdict, limits from good units
//! rig         calibration, orifice, dial, coaching, pump, profile, gauges that read themselves, drift, simulated rig
//! air, oil    flow function, restrictions, atmosphere, viscosity, annulus
//! stats       summaries, analysis of variance, control charts, gauge studies
//! quantity    units, parsing, display            console     cleaning, wrapping, printing
//! ```
//!
//! How data flows: a script ([`procedure::Program`]) asks a [`record::Question`] through its [`procedure::Walk`]; a
//! [`procedure::Desk`] gives a [`record::Answer`]; the [`session::Recorder`] has it in the [`session::Journal`] before
//! the script sees it; [`record::fold`] makes the [`record::Record`] of the journal's events.

pub mod air;
mod cli;
pub mod console;
pub mod draft;
pub mod history;
pub mod leak;
pub mod oil;
pub mod procedure;
pub mod proofread;
pub mod quantity;
pub mod record;
pub mod rehearse;
pub mod report;
pub mod rig;
pub mod session;
pub mod share;
pub mod stats;

/// Parses the command line, runs it and returns the exit status.
///
/// It runs on a thread of its own: a procedure that nests as deeply as it may needs more stack than the first thread has
/// on some systems.
pub fn run() -> std::process::ExitCode {
    const STACK: usize = 16 << 20;
    const FAULT: u8 = 101;
    match std::thread::Builder::new().stack_size(STACK).spawn(cli::Cli::run) {
        Ok(running) => running.join().unwrap_or(std::process::ExitCode::from(FAULT)),
        Err(_) => cli::Cli::run(),
    }
}
