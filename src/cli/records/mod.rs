//! `records`: what sessions have left.

mod audit;
mod chosen;
mod command;
mod export;
mod list;
mod show;

pub(super) use chosen::session;
pub(super) use command::Records;
