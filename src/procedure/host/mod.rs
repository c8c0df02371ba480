//! The host of procedures: their sources, the engine, the walk and the desk that it asks.

mod desk;
mod engine;
mod fault;
mod outline;
mod plain_name;
mod program;
mod run;
mod shipped;
mod source;
mod walk;
mod wording;

pub use desk::{Aside, Desk, Duty, Place, Shown, Site, Trail};
pub(crate) use engine::engine;
#[cfg(test)]
pub use engine::{LARGEST_MAP, LONGEST_ARRAY, LONGEST_STRING, MOST_OPERATIONS};
pub use fault::{Fault, Severity, nearest};
pub use outline::{Measurement, Mood, Outline, OutlineStep, StepKind};
pub use plain_name::is_plain_name;
pub use program::Program;
pub use run::{Stop, runaway};
pub use shipped::{SHIPPED, Shipped};
pub use source::{Source, SourceFile};

#[cfg(test)]
pub use source::LARGEST_FILE;
#[cfg(test)]
pub use walk::MOST_QUESTIONS;
pub use walk::{Halt, MOST_CIRCUITS, RESEAT, Title, Walk, check_words};
