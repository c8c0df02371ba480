//! A server that benches share: PostgreSQL, which keeps the whole text of every record that was sent, and beside that
//! the tables of the history, made from them.

mod address;
mod archive;
mod connection;
mod error;
mod pass_file;
mod prepare;
mod values;

pub(crate) use address::Address;
pub(crate) use archive::{Archive, LedgerSent, Sending};
pub(super) use connection::Server;
pub(crate) use error::ServerError;
#[cfg(test)]
pub(crate) use pass_file::password_in;
pub(super) use prepare::{names, prepare};
pub(super) use values::ServerCell;
