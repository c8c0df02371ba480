//! Oil: viscosity and density over temperature, flow through an annulus and through a hole.

mod annulus;
mod fluid;
mod walther;

pub use annulus::{annulus_flow, hole_flow};
pub use fluid::Oil;
pub use fluid::{OilError, TYPICAL_DENSITY};
pub use walther::{ViscosityPoint, Walther, WaltherError};
