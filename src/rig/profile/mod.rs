//! The rig's profile: its parts as the technician has them, whether they suit the job, and which change of them ends a
//! calibration.

mod concern;
mod drill;
mod go_no_go;
mod hose;
mod invalidation;
mod job;
#[expect(clippy::module_inception, reason = "one noun a file: the profile itself")]
mod profile;
mod pump_data;

pub use concern::Concern;
pub use drill::{DRILLS, Drill};
pub use go_no_go::{Gauged, GoNoGo, Size};
pub use hose::Hose;
pub use invalidation::{Invalidation, Part};
pub use job::Job;
pub use profile::{Profile, ProfileError};
pub use pump_data::PumpData;
