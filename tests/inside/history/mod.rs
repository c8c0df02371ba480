//! What many records say.

mod command;
mod drifted;
mod modes;
mod narrowed;
mod questions;
mod rights;
mod sending;
mod server;
