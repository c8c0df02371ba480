//! The rig: its test orifice, its dial, its valves and its calibration; what a reading on it is worth on another rig.
//!
//! Nothing here knows of uncertainty or verdicts: `leak` uses `rig`, `rig` never uses `leak`.

mod calibration;
pub mod coaching;
mod concern;
mod dial;
mod drift;
pub mod gauge;
mod handles;
mod operating_point;
mod orifice;
mod profile;
mod pump;
pub mod simulated;
mod suction;

pub use calibration::{
    Calibration, CalibrationError, ReadingError, STANDARD_PLUGGED, STANDARD_THROUGH, targets,
};
pub use concern::PartConcern;
pub use dial::{Dial, DialError, Grade};
pub use drift::{CheckInterval, DriftCheck};
pub use handles::{Condition, Valve, ValveStop, ValveTurn};
pub use operating_point::{OperatingPoint, Sensitivity};
pub use orifice::{DRILLS, Drill, Gauged, GoNoGo, Orifice, OrificeError, OrificeKind, Size};
pub use profile::{Hose, Invalidation, Job, Part, Profile, ProfileError};
pub use pump::{NEEDLE_VALVE_CRITICAL_RATIO, Pump, PumpCheck, PumpData, RelativePump};
pub use suction::WayOut;
