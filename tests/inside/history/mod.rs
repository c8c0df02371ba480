//! What many records say.

mod command;
mod narrowed;
mod questions;
mod sending;
mod server;
