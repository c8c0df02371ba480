//! A rig that exists in numbers only: what rehearsals, tests and students turn and read.

mod chance;
mod dial;
mod fault;
mod load;
mod needle_valve;
mod rig;
mod settings;
mod settling;
mod technician;
mod way_in;

pub use chance::Chance;
pub use dial::SimulatedDial;
pub use fault::Fault;
pub use load::Load;
pub use needle_valve::NeedleValve;
pub use rig::SimulatedRig;
pub use settings::Settings;
