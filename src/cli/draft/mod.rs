//! A new procedure by a short dialogue.

mod book;
mod command;
mod desk;
mod dialogue;
mod limits;
mod saving;

pub(super) use command::DraftCommand;
