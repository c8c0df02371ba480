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
pub use groups::{Counts, Group, GroupBy};
pub use judged::{Changed, Judged};
pub use repairs::RepairOutcome;
pub use savings::Savings;
pub use spread::SpreadOf;
pub use tests::Tests;
