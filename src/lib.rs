//! A runner for vacuum tests of valve-body circuits: a procedure asks, a technician answers, a record remains.
//!
//! The floors of the house, each built on those below it only:
//!
//! ```text
//! cli         one small file a command: parse, call, print, exit status
//! report      what sessions left, told in words: text, HTML with pictures, CSV, JSON Lines
//! history     the index of a shop or a server and what it answers: jobs, trends, spreads, repairs, drift, class studies
//! proofread   reached, impossible, or not tried         rehearse    simulated technician, student
//! draft       a new procedure's text from plain answers
//! share       packs, keys, trust, the ledger, what a new version changes, where procedures live
//! session     desk at the prompt, journal, recorder, runner, screens, the audit
//! practice    exercises: the bench that a student works at, its hidden defects, what they committed to, the grade
//! page        a session in a browser: what is shown, the lines typed there, HTTP on the loopback or the shop's network
//! tell        what came out, in words: circuits with their readings, verdicts, causes, money
//! procedure   the Rhai host: sources, checks, the words of the language, the walk and the desk it asks
//! record      questions, answers, events, the document; schema, digest, signers, store, shop
//! leak        assessment, uncertainty, verdict, limits from good units
//! rig         calibration, orifice, dial, coaching, pump, profile, gauges that read themselves, drift, simulated rig
//! air, oil    flow function, restrictions, atmosphere, viscosity, annulus
//! picture     PNG and JPEG, told by their content, bounded, decoded whole
//! stats       summaries, analysis of variance, control charts, gauge studies
//! quantity    units, parsing, display            console     cleaning, wrapping, printing
//! disk        files read whole, written whole, appended to, changed by one program at a time
//! ```
//!
//! How data flows: a script ([`procedure::Program`]) asks a `record::Question` through its `procedure::Walk`; a
//! `procedure::Desk` gives a `record::Answer`; the `session::Recorder` has it in the `session::Journal` before
//! the script sees it; what the walk comes to, its scribe writes down as the [`record::Record`]. An audit walks again
//! with the journal alone.

mod air;
mod cli;
mod console;
mod disk;
mod draft;
mod history;
mod leak;
mod oil;
mod page;
mod picture;
mod practice;
mod procedure;
mod proofread;
mod quantity;
mod record;
mod rehearse;
mod report;
mod rig;
mod session;
mod share;
mod stats;
mod tell;
#[cfg(test)]
#[path = "../tests/inside/mod.rs"]
mod tests;

/// Assess a reading: what it means on a rig, how sure that is, and the verdict under limits.
pub mod reading {
    pub use crate::air::{AirTemperature, Barometer, BarometerSource};
    pub use crate::leak::{
        Assessment, Bench, Context, CurveRow, DEFAULT_CONFIDENCE, Estimate, Expansions, Judgement, Land,
        LeakKind, Limits, MeasuredBy, OilState, Verdict, assess, curve, expect_clearance, expect_hole, judge,
    };
    pub use crate::oil::Oil;
    pub use crate::quantity::{INCH, INCH_OF_MERCURY, Length, Pressure, Temperature};
    pub use crate::rig::{Calibration, Dial, DialErrors, Grade, Orifice, OrificeKind, Repeatability};
}

/// Compile and check a procedure.
pub mod script {
    pub use crate::procedure::{Program, Source};
    pub use crate::proofread::proofread;
}

/// Read, audit and write a record.
pub mod records {
    pub use crate::record::{Record, document};
    pub use crate::session::Auditor;
}

/// Parses the command line, runs it and returns the exit status.
///
/// It runs on a thread of its own: a procedure that nests as deeply as it may needs more stack than the first thread
/// has on some systems.
pub fn run() -> std::process::ExitCode {
    const STACK: usize = 16 << 20;
    const FAULT: u8 = 101;
    match std::thread::Builder::new().stack_size(STACK).spawn(cli::Cli::run) {
        Ok(running) => {
            console::leave_stops();
            running.join().unwrap_or(std::process::ExitCode::from(FAULT))
        }
        Err(_) => cli::Cli::run(),
    }
}
