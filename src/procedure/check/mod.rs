//! Checks of a procedure that need no run: everything in it is held against what the language knows.

mod calls;
mod closures;
mod descriptions;
mod every_file;
mod faults;
mod imports;
mod known;
mod meant;
mod names;
mod order;
mod properties;
mod unlike;

pub(super) use every_file::{call, check};
use faults::Faults;
use imports::Imports;
use known::Known;
use names::Names;
