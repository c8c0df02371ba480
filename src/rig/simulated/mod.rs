//! A rig that exists in numbers only: what rehearsals, tests and students turn and read.

mod parts;
mod rig;
#[cfg(test)]
#[path = "../../../tests/inside/rig/trials.rs"]
pub(crate) mod trials;

pub(crate) use parts::{Chance, Load, RigFault, Settings};
pub(crate) use rig::SimulatedRig;
