//! The session: the desk at the prompt, the journal, and the runner that walks a procedure and leaves a record.

mod files;
mod input;
mod journal;
mod log;
mod own_questions;
mod person;
mod prompt;
mod recorder;
mod runner;
pub(crate) mod screens;

pub use files::{keep_files, kept_files, sweep};
pub use input::{Input, Stopped};
pub use journal::Journal;
pub use log::{Log, LogError};
pub use own_questions::{coach, walk_closing, walk_tests};
pub use person::{Needle, Person};
pub use prompt::{Enter, Plain, Prompt, Reply, SAYINGS, Said, Saying, read_saying, yes_no};
pub use recorder::{CHECKS, Recorder};
pub use runner::{Changes, Ended, Session, SessionError};
