//! What several tests share.

pub(crate) mod bench;
pub(crate) mod binary;
pub(crate) mod common;
pub(crate) mod generated;
pub(crate) mod guided;
pub(crate) mod script_grammar;
pub(crate) mod scripted;
pub(crate) mod sharing;
