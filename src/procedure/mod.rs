//! The procedure: a Rhai script that asks, tells and branches, in a sandbox without clock, files or network.

mod absent;
mod check;
mod desk;
mod diagnostic;
mod engine;
mod fields;
mod program;
mod run;
mod shipped;
mod source;
mod syntax;
mod walk;
mod words;

pub use desk::{Aside, Desk, Place, Shown};
pub use diagnostic::{Diagnostic, nearest};
pub use engine::{LARGEST_MAP, LONGEST_ARRAY, LONGEST_STRING, MOST_OPERATIONS};
pub use program::Program;
use program::imports;
pub use run::Stop;
pub use shipped::{SHIPPED, Shipped};
pub use source::{Source, SourceFile};
pub use walk::{Halt, MOST_QUESTIONS, SetRig, Title, Walk};
pub use words::{VOCABULARY, Word};
