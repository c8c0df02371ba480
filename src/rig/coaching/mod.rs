//! Coaching: which valve to turn to which reading, so that one pass lands both targets, and what is wrong where it does
//! not.
//!
//! A state machine: `course` folds what was read into a `phase`, and `pairing` and `proving` say for their phases what
//! is asked and which phase follows.

mod coach;
mod course;
mod goal;
mod pairing;
mod phase;
mod plan;
mod proving;
mod step;

pub(crate) use coach::Coach;
pub(crate) use goal::{CalibrationGoal, DEEPEST, GoalError};
pub(crate) use phase::Course;
pub(crate) use plan::{PairAdvice, ValvePlan};
#[cfg(test)]
pub(crate) use step::NextStep;
pub(crate) use step::{CoachReading, CoachStep, Moved, RigConcern, Setting};
