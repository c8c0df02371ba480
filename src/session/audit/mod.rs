//! The audit: whether a record is what its procedure and its answers come to, and if not, where it differs.

mod auditor;
mod differences;
mod entries;
mod fault;

pub use auditor::Auditor;
#[cfg(test)]
pub(crate) use entries::is_valid_journal;
pub(crate) use fault::{Audit, RecordFault, RecordRemark};
