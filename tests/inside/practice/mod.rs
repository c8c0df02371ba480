//! Exercises: what a bench shows, what an attempt leaves, and whether grades say what students can do.

mod at_the_bench;
mod attempts;
mod class;
mod grades;
mod handed_out;
mod pupils;

pub(crate) use pupils::{Skill, attempt};
