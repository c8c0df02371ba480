//! The slips of the pen that people make who write a procedure, found in the text before the engine parses it, each with
//! an edit that lets the rest be checked in the same run.

mod blocks;
mod brackets;
mod calls;
mod closers;
mod conditions;
mod every_slip;
mod kinds;
mod lists;
mod names;
mod notes;
mod numbers;
mod open;
mod quotes;
mod slip;
mod steps;
mod surplus;
mod texts;
mod words;

pub(super) use every_slip::mend_slips;
pub(super) use slip::Slip;
use slip::mend;
