//! What a technician sees: pure text made from questions, outcomes and records.

mod asking;
mod outcome;
mod sight;

use asking::marker;
pub(crate) use asking::{
    INDENT, SUCTION, changed, circuit, needle, opened, plan, progress, prompt, question, seconds_left,
    section, told,
};
pub(crate) use outcome::{finished, judged, record, shown};
pub(crate) use sight::{
    ask, barometer_at, circuit_sight, dial_sight, enter_takes, judged_by, picture_sights, wanted,
};
