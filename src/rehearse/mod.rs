//! Rehearsing: a technician and a rig that exist in numbers only walk through a procedure.

mod leaks;
mod technician;

pub(crate) use leaks::{ChosenLeak, Leaks};
pub(crate) use technician::Technician;
