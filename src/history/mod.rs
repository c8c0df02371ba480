//! The history: an index of the shop's records, and the questions that it answers at once.
//!
//! [`Index`] is a database beside the records. It holds nothing that they do not, so it can be thrown away at any time.

mod amended;
mod gathered;
mod index;
mod paired;
mod questions;
mod schema;
mod tallies;
mod writing;

#[cfg(test)]
pub use gathered::{Gathered, GatheredCircuit, GatheredReading, gather};
pub use index::{Index, IndexError, Update};
#[cfg(test)]
pub use questions::{Changed, Counts};
pub use questions::{ChartPoint, GoodUnit, Group, GroupBy, SpreadOf, Tests};
