use std::fmt;

use super::Place;
use crate::record::FoldError;

/// One thing about a record that is not as it was stored, or does not follow from what was entered.
#[derive(Debug, Clone, PartialEq)]
pub enum Fault {
    /// It is not JSON.
    NotJson {
        /// Where reading stopped.
        at: Place,
        /// Why.
        why: String,
    },
    /// It breaks the schema; the text begins with the field.
    Schema(String),
    /// The digest that it states is not that of its content.
    Digest {
        /// The digest that the content has.
        found: String,
    },
    /// Its journal cannot be read.
    Journal(String),
    /// Its journal is not that of a finished session.
    Fold(FoldError),
    /// An event does not have the number of its place in the journal.
    Order {
        /// The place, from 1.
        place: usize,
        /// The number that stands there.
        n: u64,
    },
    /// The procedure's walk rests on an answer that was taken back.
    Retracted {
        /// Number of the event that gave the answer.
        n: u64,
    },
    /// What was typed does not give the value that is stated.
    Entered {
        /// Number of the event.
        n: u64,
        /// What was typed.
        entered: String,
        /// What it gives, or why it gives nothing.
        found: String,
    },
    /// A field is not what follows from the journal.
    Differs {
        /// The field, as a JSON pointer.
        field: String,
        /// What the record states.
        stated: String,
        /// What the journal gives.
        found: String,
    },
    /// No good check of the rig follows the readings of a circuit.
    Uncovered {
        /// Its name.
        circuit: String,
    },
    /// It says the same, but not in the bytes that were stored: spaces, line feeds, spelling of numbers or texts.
    Form(Place),
    /// The shop's copy of a procedure's file is not the file that ran.
    File {
        /// Its name.
        name: String,
    },
    /// Its file is named after another session.
    Name {
        /// The name of the file, without its extension.
        file: String,
        /// The session that the record states.
        session: String,
    },
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Fault::NotJson { at, why } => write!(f, "not JSON at {at}: {why}"),
            Fault::Schema(why) => write!(f, "breaks the schema at {why}"),
            Fault::Digest { found } => {
                write!(f, "the digest does not fit: the content has {found}")
            }
            Fault::Journal(why) => write!(f, "the journal cannot be read: {why}"),
            Fault::Fold(error) => write!(f, "the journal makes no record: {error}"),
            Fault::Order { place, n } => write!(f, "event {place} of the journal is numbered {n}"),
            Fault::Retracted { n } => {
                write!(f, "the walk rests on the answer of event {n}, which was taken back")
            }
            Fault::Entered { n, entered, found } => {
                write!(f, "event {n}: \"{entered}\" was entered, which gives {found}")
            }
            Fault::Differs { field, stated, found } => {
                write!(f, "{field} is stated as {stated}; the journal gives {found}")
            }
            Fault::Uncovered { circuit } => {
                write!(f, "no good check of the rig follows the readings of \"{circuit}\"")
            }
            Fault::Form(place) => {
                write!(f, "not written as it was stored at {place}: spacing or spelling was changed")
            }
            Fault::File { name } => {
                write!(f, "the shop's copy of {name} is not the file that ran: it has been altered")
            }
            Fault::Name { file, session } => {
                write!(f, "the file is named {file}, the session in it {session}")
            }
        }
    }
}

impl Fault {
    /// Returns a word for the kind, for programs.
    pub fn kind(&self) -> &'static str {
        match self {
            Fault::NotJson { .. } => "not_json",
            Fault::Schema(_) => "schema",
            Fault::Digest { .. } => "digest",
            Fault::Journal(_) => "journal",
            Fault::Fold(_) => "fold",
            Fault::Order { .. } => "order",
            Fault::Retracted { .. } => "retracted",
            Fault::Entered { .. } => "entered",
            Fault::Differs { .. } => "differs",
            Fault::Uncovered { .. } => "uncovered",
            Fault::Form(_) => "form",
            Fault::File { .. } => "file",
            Fault::Name { .. } => "name",
        }
    }

    /// Returns the field that the fault is about, as a JSON pointer, where that is known.
    pub fn field(&self) -> Option<&str> {
        match self {
            Fault::NotJson { at, .. } | Fault::Form(at) => Some(&at.field),
            Fault::Differs { field, .. } => Some(field),
            Fault::Digest { .. } => Some("/digest"),
            Fault::Schema(why) => why.split_once(": ").map(|(place, _)| place),
            _ => None,
        }
    }
}
