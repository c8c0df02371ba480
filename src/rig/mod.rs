//! The rig: its test orifice, its dial, its valves and its calibration; what a reading on it is worth on another rig.
//!
//! Nothing here knows of uncertainty or verdicts: `leak` uses `rig`, `rig` never uses `leak`.

mod calibration;
pub(crate) mod coaching;
mod concern;
mod dial;
mod drift;
pub(crate) mod gauge;
mod handles;
mod operating_point;
mod orifice;
mod profile;
mod pump;
pub(crate) mod simulated;
mod suction;

pub use calibration::Calibration;
pub use calibration::{CalibrationError, STANDARD_PLUGGED, STANDARD_THROUGH, targets};
#[cfg(test)]
pub use concern::PartConcern;
pub use dial::{Dial, Grade};
pub use drift::{CheckInterval, DriftCheck};
pub use handles::{Condition, Valve, ValveStop, ValveTurn};
pub use operating_point::{OperatingPoint, ReadingError, Sensitivity};
pub use orifice::{DRILLS, Drill, Gauged, GoNoGo, Size};
pub use orifice::{Orifice, OrificeKind};
#[cfg(test)]
pub use profile::CalibratedPart;
pub use profile::{Invalidation, Job, Profile};
pub use pump::{PumpCheck, PumpData, RelativePump};
pub use suction::{Pump, WayOut};
