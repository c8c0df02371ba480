//! The pump: what it can do, and whether it is strong enough not to matter.

mod check;
mod relative_pump;

pub use check::{NEEDLE_VALVE_CRITICAL_RATIO, PumpCheck};
pub use relative_pump::{Pump, RelativePump};
