//! The slips of the pen that people make who write a procedure, found in the text before the engine parses it, each with
//! an edit that lets the rest be checked in the same run.

mod brackets;
mod every_slip;
mod numbers;
mod quotes;
mod slip;
mod words;

pub(super) use every_slip::mend_slips;
pub(super) use slip::Slip;
use slip::mend;
