//! `records`: what sessions have left.

mod audit;
mod chosen;
mod command;
mod export;
mod list;
mod open;
mod show;

pub(in crate::cli) use chosen::session;
pub(in crate::cli) use command::Records;
