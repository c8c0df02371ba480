//! A rig and a unit that exist in numbers only: what rehearsals, tests and students turn and read.

mod circuit;
mod dial;
mod laws;
mod parts;
mod rig;
#[cfg(test)]
#[path = "../../../tests/inside/rig/trials.rs"]
pub(crate) mod trials;

pub(crate) use circuit::{CircuitLeak, LeakShape, OilFilm, share_showing, shown_for};
pub(crate) use dial::DialKind;
#[cfg(test)]
pub(crate) use dial::Movement;
pub(crate) use laws::{AirWay, Gap};
pub(crate) use parts::{Chance, Load, RigFault, Settings};
pub(crate) use rig::SimulatedRig;
#[cfg(test)]
pub(crate) use trials::Approach;
