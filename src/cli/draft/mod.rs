//! A new procedure by a short dialogue.

mod book;
mod circuit;
mod command;
mod desk;
mod dialogue;
mod limits;
mod reading_list;
mod saving;
mod texts;

pub(crate) use command::Draft;
