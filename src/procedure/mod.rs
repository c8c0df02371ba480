//! The procedure: a Rhai script that asks, tells and branches, in a sandbox without clock, files or network.

mod check;
mod host;
mod language;
mod syntax;

pub use host::{
    Aside, Desk, Duty, Fault, Halt, LARGEST_FILE, LARGEST_MAP, LONGEST_ARRAY, LONGEST_STRING, MOST_CIRCUITS,
    MOST_MODULES, MOST_OPERATIONS, MOST_QUESTIONS, MOST_TEXT, MOST_TOLD, Measurement, Met, Mood, Outline,
    OutlineStep, Place, Program, RESEAT, SHIPPED, SetRig, Severity, Shipped, Shown, Site, Source, SourceFile,
    StepKind, Stop, Title, Trail, Walk, check_words, is_plain_name, nearest, runaway,
};
pub use language::{
    GENERAL, Key, PROPERTIES, Property, Sort, Stands, VOCABULARY, Word, definitions, word_list,
};
pub(crate) use syntax::{Kind, Token, tokens};
