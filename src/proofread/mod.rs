//! Proofreading: a procedure walked without a rig, before a unit is on the bench.
//!
//! [`proofread`] compiles a procedure, walks it, and says of each statement that asks or tells whether it was reached,
//! is impossible, or was not tried; beside that what went wrong on walks and what a technician will stumble over.
//!
//! An answer is decided where the script looks at it. What may decide whether a statement is reached is worked out
//! from the text first (`procedure/influence/`); these answers are then tried in every combination that the script
//! can tell apart, while all others are the plainest, and what has nothing to do with each other is tried side by
//! side in the same walks. So *impossible* is shown: verdicts, yes and no, choices and sides of limits are few. Of
//! figures and texts only those at and beside what the script compares them with are tried, and nothing that hangs on
//! them is called impossible.
//!
//! Circuits are left out as well, each by itself and all others, as complaints and retests do. Going back needs no
//! walks: it runs the script again on other answers. Whether limits and words are right for the unit nobody tries here.

mod blame;
mod bundles;
mod conditions;
mod cover;
mod desk;
mod findings;
mod gather;
mod kind;
mod lesson;
mod outcome;
mod prose;
mod report;
mod search;
mod worksheet;

pub(crate) use lesson::lesson;
pub use outcome::proofread;
pub(crate) use report::Report;
pub(crate) use worksheet::worksheet;
