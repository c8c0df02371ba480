//! The session: the desk at the prompt, the journal, and the runner that walks a procedure and leaves a record.

mod dial_strip;
mod input;
mod journal;
mod kept_files;
mod opening;
mod person;
mod recorder;
mod runner;
mod saying;
pub mod screens;

pub use dial_strip::dial_strip;
pub use input::{Chain, Input, Lines, Terminal, Typed};
pub use journal::{Journal, JournalError};
pub use kept_files::{keep_files, kept_files};
pub use person::Person;
pub use recorder::Recorder;
pub use runner::{Ended, Session, SessionError};
pub use saying::{SAYINGS, Saying, read_saying};
