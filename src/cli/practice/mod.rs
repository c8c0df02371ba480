//! `practice` and what an instructor does: each exercise found, handed out, worked at, graded.

mod command;
mod exercises;
mod grades;
mod prepare;

pub(super) use command::{Practice, tell_grade};
pub(super) use exercises::{is_exercise_file, procedure_of_exercise, refuse_held_back, teller};
