//! The rig: its test orifice, its dial, its valves and its calibration; what a reading on it is worth on another rig.
//!
//! Nothing here knows of uncertainty or verdicts: `leak` uses `rig`, `rig` never uses `leak`.

mod balance;
mod calibration;
mod calibration_error;
pub mod coaching;
mod condition;
mod dial;
mod drift;
pub mod gauge;
mod operating_point;
mod orifice;
pub mod profile;
pub mod pump;
mod reading_error;
mod root;
mod sensitivity;
pub mod simulated;
mod standard;
mod suction;
mod valve;

pub use balance::WayOut;
pub use calibration::Calibration;
pub use calibration_error::CalibrationError;
pub use condition::Condition;
pub use dial::{Dial, DialError, Grade};
pub use drift::{CheckInterval, DriftCheck};
pub use operating_point::OperatingPoint;
pub use orifice::{Orifice, OrificeError, OrificeKind};
pub use reading_error::ReadingError;
pub use sensitivity::Sensitivity;
pub use standard::{STANDARD_ORIFICE, STANDARD_PLUGGED, STANDARD_THROUGH, targets};
pub use valve::{Stop, Turn, Valve};
