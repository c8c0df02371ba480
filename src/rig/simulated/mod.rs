//! A rig that exists in numbers only: what rehearsals, tests and students turn and read.

#[cfg(test)]
#[expect(dead_code, reason = "the rig does not draw from it yet")]
mod dial;
mod parts;
mod rig;
#[cfg(test)]
#[path = "../../../tests/inside/rig/trials.rs"]
pub(crate) mod trials;

#[cfg(test)]
pub(crate) use dial::{Approach, DialKind, Movement};
pub(crate) use parts::{Chance, Load, RigFault, Settings};
pub(crate) use rig::SimulatedRig;
