//! What a technician sees: pure text made from questions, outcomes and records.

mod asking;
mod outcome;

pub(crate) use asking::{
    INDENT, changed, circuit, needle, opened, plan, progress, prompt, question, seconds_left, told, wanted,
};
use asking::{marker, rule};
pub(crate) use outcome::{finished, judged, record, shown};
