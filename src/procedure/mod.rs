//! The procedure: a Rhai script that asks, tells and branches, in a sandbox without clock, files or network.

mod check;
mod host;
mod influence;
mod language;
mod syntax;

#[cfg(test)]
pub(crate) use host::LARGEST_FILE;
pub(crate) use host::{
    Aside, Commit, Compared, Desk, Duty, Fault, FoundPicture, Halt, LabelledReading, MOST_CIRCUITS,
    Measurement, Mood, Outline, PictureHere, Place, RunnersPart, SHIPPED, Severity, Shipped, Shown, Site,
    SourceFile, SourcePicture, Stop, Title, Trail, Walk, asks_for_check, is_picture_name, is_plain_name,
    nearest, runaway, warns_of_suction,
};
pub(crate) use host::{Look, WalkBudget};
pub use host::{Program, Source};
pub(crate) use influence::{Aspect, Influence, Statement, Strand};
#[cfg(test)]
pub(crate) use language::{Key, PROPERTIES, Property, Word};
pub(crate) use language::{Sort, Stands, VERDICTS_ASKED, VOCABULARY};
pub(crate) use syntax::{Kind, Token, tokens};
#[cfg(test)]
pub(crate) use {
    host::{MOST_FAULTS, parser},
    syntax::{Mended, parse},
};
