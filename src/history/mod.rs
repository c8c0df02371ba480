//! The history: an index of the shop's records, and the questions that it answers.
//!
//! [`Index`] is a database beside the records: a file in the shop, or tables on a server that benches share and
//! send them to. It holds nothing that they do not, so it can be thrown away at any time. Each question is one
//! text in `sql/` over the plain tables of `sql/tables.sql`, in words that SQLite, DuckDB and PostgreSQL all take.
//! What they do not all say alike (quantiles, verdicts by other limits, control charts, gauge studies) is worked
//! out here from the rows.

mod asked;
mod counts;
mod database;
mod index;
mod jobs;
mod names;
mod over_time;
mod readings;
mod server;
mod writing;

pub(crate) use asked::Asked;
pub(crate) use counts::{Group, GroupBy, Tests};
pub(crate) use index::{Index, IndexError, Update};
pub(crate) use jobs::{CircuitStanding, JobStanding};
pub(crate) use over_time::{ChartPoint, Savings};
#[cfg(test)]
pub(crate) use readings::Changed;
pub(crate) use readings::{GoodUnit, ReadingSpread};
#[cfg(test)]
pub(crate) use server::password_in;
pub(crate) use server::{Address, Archive, LedgerSent, Sending, ServerError};
