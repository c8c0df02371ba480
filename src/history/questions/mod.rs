//! The questions that the index answers.

mod drift;
mod good_units;
mod groups;
mod judged;
mod names;
mod repairs;
mod savings;
mod spread;
mod standing;
mod study;
mod tests;

pub use drift::ChartPoint;
pub use good_units::GoodUnit;
#[cfg(test)]
pub use groups::Counts;
pub use groups::{Group, GroupBy};
#[cfg(test)]
pub use judged::{Changed, Judged};
#[cfg(test)]
pub use repairs::RepairOutcome;
#[cfg(test)]
pub use savings::Savings;
pub use spread::SpreadOf;
pub use tests::Tests;
