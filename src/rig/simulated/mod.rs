//! A rig that exists in numbers only: what rehearsals, tests and students turn and read.

mod parts;
mod rig;
#[cfg(test)]
#[path = "../../../tests/inside/rig/trials.rs"]
pub mod trials;

pub use parts::{Chance, Load, RigFault, Settings};
pub use rig::SimulatedRig;
