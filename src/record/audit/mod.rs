//! The audit: whether a record is still the one that was stored, and if not, where it differs.

mod difference;
mod examine;
mod fault;
mod intact;
mod journal;
mod kept;
mod place;

pub use examine::{Audit, audit, audit_file};
pub use fault::Fault;
pub use kept::KeptFile;
pub use place::Place;
