//! The rig: its test orifice, its dial, its valves and its calibration; what a reading on it is worth on another rig.
//!
//! Nothing here knows of uncertainty or verdicts: `leak` uses `rig`, `rig` never uses `leak`.

mod balance;
mod calibration;
pub mod coaching;
mod condition;
mod dial;
mod orifice;
pub mod pump;
mod root;
mod sensitivity;
pub mod simulated;
mod standard;
mod valve;

pub use balance::{Law, WayOut};
pub use calibration::{Calibration, CalibrationError, ReadingError};
pub use condition::Condition;
pub use dial::{Dial, DialError, Grade};
pub use orifice::{Orifice, OrificeError, OrificeKind};
pub use sensitivity::Sensitivity;
pub use standard::{STANDARD_ORIFICE, STANDARD_PLUGGED, STANDARD_THROUGH, targets};
pub use valve::{Stop, Turn, Valve};
