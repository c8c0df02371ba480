//! The pump: whether it is strong enough not to matter, and what readings mean where it is not.

mod check;
mod full_balance;
mod relative_pump;

pub use check::{NEEDLE_VALVE_CRITICAL_RATIO, PumpCheck};
pub use full_balance::{BalanceError, FullBalance};
pub use relative_pump::{Pump, RelativePump};
