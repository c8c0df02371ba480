//! Rehearsing: a technician and a rig that exist in numbers only walk through a procedure.

mod leaks;
mod technician;

#[cfg(test)]
pub(crate) use leaks::ReadAt;
pub(crate) use leaks::{ChosenLeak, Leaks};
pub(crate) use technician::Technician;
