//! Proofreading: a procedure walked with each kind of answer, without a rig and before a unit is on the bench.
//!
//! [`proofread`] compiles a procedure, walks it with a desk that gives every kind of answer, and reports what went wrong,
//! what no answer reaches and what a technician will stumble over.
//!
//! What is covered: every kind of answer to every question (each verdict of a reading that the limits allow, yes and no,
//! each choice, a number below, within and above its limits, `cannot` wherever it may be said), every two of the answers
//! that are given near each other in the test of one circuit or in one section, all answers alike (everything holds,
//! everything leaks, ...), and each circuit tested alone, as a plan would have it. Going back needs no covering: it runs the
//! script again on other answers. What is not covered: what needs three particular answers at once, or two answers in the
//! tests of different circuits, unless walking comes by it; and whether limits and words are right for the unit.
//!
//! Circuits and sections are varied side by side in the same walks. So the number of walks grows with the number of
//! questions at most, and the work with its square.

mod conditions;
mod desk;
mod explore;
mod findings;
mod gather;
mod kind;
mod notebook;
mod prose;
mod report;
mod worksheet;

pub use explore::proofread;
pub(crate) use report::Report;
pub(crate) use worksheet::worksheet;
