//! What many records say.

mod command;
mod drifted;
mod narrowed;
mod questions;
mod sending;
mod server;
