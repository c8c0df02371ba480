//! What many records say.

mod command;
mod questions;
mod sending;
mod server;
