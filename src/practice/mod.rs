//! Exercises: a bench that exists in numbers only, at which a student does everything by hand; its hidden defects, what
//! the student committed to, and what that is worth.

mod bench;
mod catalogue;
mod commitment;
mod debrief;
mod doing;
mod grade;
mod handling;
mod judging;
mod leaks;
mod picture;
mod task;
mod unit;
mod weights;

pub(crate) use bench::{HoseEnd, Workbench};
pub(crate) use catalogue::{HARDEST, Prepared, drawn, shipped};
pub(crate) use commitment::Commitment;
pub(crate) use commitment::{CAUSE, EVERYWHERE, PLACE, REPAIR, SURE, SURENESS, VERDICT, repairs};
pub(crate) use debrief::debrief;
pub(crate) use doing::{Act, DOINGS, Doing, stands};
pub(crate) use grade::{ENOUGH, graded, is_passed, not_graded, summed};
pub(crate) use leaks::{ChosenLeak, Leaks, ReadAt};
pub(crate) use picture::dial;
pub(crate) use task::Task;
pub(crate) use weights::{point_name, read_weights, weight_rows};
#[cfg(test)]
pub(crate) use {commitment::right_repair, judging::beats_guessing};
