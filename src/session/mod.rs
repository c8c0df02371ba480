//! The session: the desk at the prompt, the journal, and the runner that walks a procedure and leaves a record.

mod audit;
mod committing;
mod discarding;
mod doubt;
mod duty;
mod input;
mod journal;
mod keys;
mod needle;
mod person;
mod photo_file;
mod plain_question;
mod plain_terminal;
mod prompt;
mod recorder;
mod runner;
mod saying;
pub(crate) mod screens;
mod scribe;
mod sweep;
mod terminal;
mod unrecorded;
mod walking;

pub use audit::Auditor;
#[cfg(test)]
pub(crate) use audit::is_valid_journal;
pub(crate) use audit::{Audit, RecordFault, RecordRemark};
pub(crate) use discarding::{Discarded, discard, take_back};
pub(crate) use duty::CHECKS;
pub(crate) use input::Stopped;
#[cfg(test)]
pub(crate) use input::{Input, Typed};
pub(crate) use journal::Journal;
pub(crate) use needle::Needle;
pub(crate) use person::Person;
pub(crate) use photo_file::file_named;
pub(crate) use plain_question::{Enter, Plain, Said, yes_no};
pub(crate) use prompt::{Prompt, Reply};
pub(crate) use recorder::Recorder;
pub(crate) use runner::{
    Changes, Ended, ProcedureNow, Session, SessionError, set_words, walk_closing, walk_tests,
};
pub(crate) use saying::{SAYINGS, Saying, list_words, read_saying};
pub(crate) use sweep::sweep;
pub(crate) use unrecorded::coach;
