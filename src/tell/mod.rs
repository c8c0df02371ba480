//! A record told in words: one telling for the screens of a session, for `records show` and for the report.

mod circuit;
mod field;
mod meaning;
mod money;
mod words;

pub(crate) use circuit::{CircuitStory, ReadingStory, TAKES_DIFFER, by_reason, circuits, in_general};
pub(crate) use field::Field;
pub(crate) use meaning::{IN_ONE_LAND, meaning};
pub(crate) use money::{account, cost, done_repair, money, repaired_at, titled};
pub(crate) use words::{
    agreement, answer_text, answered, area, complaints_without_cause, elevation, finding, gist, hole,
    limit_names, limits, mark, orifice_kind, percent, photo, range, summary, verdict_word,
};
