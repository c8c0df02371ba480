//! A rig that exists in numbers only: what rehearsals, tests and students turn and read.

mod air;
mod parts;
mod rig;

pub use parts::{Chance, Load, RigFault, Settings};
pub use rig::SimulatedRig;
