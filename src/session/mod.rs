//! The session: the desk at the prompt, the journal, and the runner that walks a procedure and leaves a record.

mod closing;
mod coaching;
mod dial_strip;
mod files;
mod input;
mod journal;
mod log;
mod needle;
mod opening;
mod person;
mod recorder;
mod runner;
mod saying;
pub mod screens;
mod whole;

pub use coaching::{Coached, coach};
pub use dial_strip::dial_strip;
pub use files::{keep_files, kept_files, sweep};
pub use input::{Chain, Input, Lines, Terminal, Typed};
pub use journal::Journal;
pub use log::{Log, LogError};
pub use needle::Needle;
pub use person::Person;
pub use recorder::{CHECKS, Recorder};
pub use runner::{Changes, Ended, Session, SessionError};
pub use saying::{SAYINGS, Saying, read_saying};
pub use whole::{walk_closing, walk_tests};
