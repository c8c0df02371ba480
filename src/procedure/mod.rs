//! The procedure: a Rhai script that asks, tells and branches, in a sandbox without clock, files or network.

mod absent;
mod check;
mod contained;
mod desk;
mod diagnostic;
mod engine;
mod fields;
mod mended;
mod modules;
mod parse;
mod plain_name;
mod program;
mod run;
mod shipped;
mod slips;
mod source;
mod spoken;
mod syntax;
mod tokens;
mod trail;
mod walk;
mod wording;
mod words;

pub use desk::{Aside, Desk, Duty, Place, Shown};
pub use diagnostic::{Diagnostic, Severity, nearest};
pub use engine::{LARGEST_MAP, LONGEST_ARRAY, LONGEST_STRING, MOST_OPERATIONS};
pub use plain_name::is_plain_name;
pub use program::Program;
use program::imports_of;
pub use run::{Stop, runaway};
pub use shipped::{SHIPPED, Shipped};
pub use source::{LARGEST_FILE, MOST_MODULES, Source, SourceFile};
pub(crate) use tokens::{Kind, Token, tokens};
pub use trail::{Site, Trail};
pub use walk::{
    Halt, MOST_CIRCUITS, MOST_QUESTIONS, MOST_TEXT, MOST_TOLD, RESEAT, SetRig, Title, Walk, check_words,
};
pub use words::{GENERAL, Key, PROPERTIES, Property, Sort, Stands, VOCABULARY, Word, definitions, word_list};
