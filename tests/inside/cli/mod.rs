//! The program from outside, and commands that stand for themselves.

mod broken_disk;
mod imported;
mod jobs;
mod leak;
mod ledger;
mod open_sessions;
mod outside;
mod photos;
mod records;
mod rig;
#[cfg(unix)]
mod shared;
