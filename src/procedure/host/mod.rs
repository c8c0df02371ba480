//! The host of procedures: their sources, the engine, the walk and the desk that it asks.

mod budget;
mod desk;
mod endless;
mod engine;
mod fault;
mod halt;
mod keeping;
mod outline;
mod pictures;
mod program;
mod run;
mod source;
mod testing;
mod walk;
mod wording;
mod written_out;

pub(crate) use budget::WalkBudget;
pub(crate) use desk::{Aside, Compared, Desk, Duty, LastTake, Look, Place, Shown, Site, Trail};
pub(crate) use engine::{engine, parser};
pub(crate) use fault::{Fault, MOST_FAULTS, Severity, nearest};
pub(crate) use halt::{Commit, Halt, RunnersPart};
pub(crate) use outline::{LabelledReading, Measurement, Mood, Outline, warns_of_suction};
pub(crate) use pictures::{FoundPicture, PictureHere, SourcePicture, is_picture_name};
pub use program::Program;
pub(crate) use program::Title;
pub(crate) use run::{Stop, runaway};
#[cfg(test)]
pub(crate) use source::LARGEST_FILE;
pub use source::Source;
pub(crate) use source::{SHIPPED, Shipped, SourceFile, is_plain_name};
pub(crate) use testing::MOST_CIRCUITS;
pub(crate) use walk::Walk;
pub(crate) use wording::asks_for_check;
