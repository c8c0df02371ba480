//! The rig: its test orifice, its dial, its valves and its calibration; what a reading on it is worth on another rig.
//!
//! Nothing here knows of uncertainty or verdicts: `leak` uses `rig`, `rig` never uses `leak`.

mod calibration;
pub(crate) mod coaching;
mod concern;
mod dial;
mod drift;
pub(crate) mod gauge;
mod gauge_check;
mod handles;
mod operating_point;
mod orifice;
mod profile;
mod pump;
pub(crate) mod simulated;
mod suction;

pub use calibration::Calibration;
pub(crate) use calibration::{CalibrationError, STANDARD_PLUGGED, STANDARD_THROUGH, targets};
#[cfg(test)]
pub(crate) use concern::PartConcern;
pub use dial::{Dial, DialErrors, Grade};
pub(crate) use drift::{CheckInterval, DriftCheck};
pub(crate) use gauge_check::{CheckPoint, GaugeCheck, GaugeCheckError};
pub(crate) use handles::{Condition, Valve, ValveStop, ValveTurn};
pub(crate) use operating_point::{OperatingPoint, ReadingError, Sensitivity};
pub(crate) use orifice::{DRILLS, Drill, Gauged, GoNoGo, Size};
pub use orifice::{Orifice, OrificeKind};
#[cfg(test)]
pub(crate) use profile::CalibratedPart;
pub use profile::Repeatability;
pub(crate) use profile::{BenchIdentity, Demand, Invalidation, Profile};
pub(crate) use pump::{PumpCheck, PumpData, RelativePump};
pub(crate) use suction::Pump;
