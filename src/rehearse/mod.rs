//! Rehearsing: a technician and a rig that exist in numbers only walk through a procedure.

mod chosen;
mod leaks;
mod technician;

pub use chosen::{ChosenLeak, State};
pub use leaks::Leaks;
pub use technician::Technician;
