//! Commands that stand for themselves.

mod leak;
mod records;
mod rig;
