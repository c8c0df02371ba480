//! What a technician sees: pure text made from questions, outcomes and records.

mod asking;
mod outcome;

use asking::marker;
pub(crate) use asking::{
    INDENT, barometer_at, changed, circuit, enter_takes, judged_by, needle, opened, plan, progress, prompt,
    question, rule, seconds_left, told, wanted,
};
pub(crate) use outcome::{finished, judged, record, shown};
