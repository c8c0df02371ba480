//! `records`: what sessions have left.

mod audit;
mod chosen;
mod command;
mod export;
mod import;
mod list;
mod show;
mod sign;
mod whole;

pub(super) use chosen::{reported, session};
pub(super) use command::Records;
pub(super) use show::{audited, tested_again};
pub(super) use sign::entered;
