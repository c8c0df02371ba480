//! What a technician sees: pure text made from questions, outcomes and records.

mod asking;
mod judging;
mod layout;
mod opening;
mod outcome;

pub use asking::{circuit, needle, progress, prompt, question, seconds_left, wanted};
pub use judging::shown;
pub use layout::INDENT;
pub use opening::{changed, opened, plan, told};
pub use outcome::{finished, record};
