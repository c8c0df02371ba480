//! What many records say.

mod command;
mod questions;
