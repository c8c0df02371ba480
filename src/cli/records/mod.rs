//! `records`: what sessions have left.

mod audit;
mod chosen;
mod command;
mod export;
mod list;
mod show;
mod sign;
mod whole;

pub(super) use chosen::session;
pub(super) use command::Records;
pub(super) use sign::entered;
