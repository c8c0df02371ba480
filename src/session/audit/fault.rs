use serde_json::Value;
use thiserror::Error;

use crate::record::{Record, SignerKey};
use crate::tell::Field;

/// What an audit of a record has found.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Audit {
    /// The session, where that can be read.
    pub session: Option<String>,
    /// The record, where nothing at all is wrong with it.
    pub record: Option<Record>,
    /// Whether the journal is the one that was stored, whatever became of the rest: the record that it comes to has the
    /// digest that is stated.
    pub journal_stands: bool,
    /// Who signed it; none where nobody did, or the signature does not fit.
    pub signer: Option<SignerKey>,
    /// The version of the program that made it, where it is not this one.
    pub other_version: Option<String>,
    /// Everything that is not as it was stored, or does not follow from procedure and answers.
    pub faults: Vec<RecordFault>,
    /// What is no fault, and should be known.
    pub remarks: Vec<RecordRemark>,
}

/// One thing about a record that is not as it was stored, or does not follow from its procedure and what was entered.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RecordFault {
    #[error("not JSON: {0}")]
    NotJson(String),
    /// It has neither a session nor a journal nor a digest, so nobody stored it as a record.
    #[error("this is no record: it has neither session nor journal nor digest")]
    NoRecord,
    /// It breaks the schema; the text begins with the field.
    #[error("breaks the schema at {0}")]
    Schema(String),
    /// The digest that it states is not that of its content.
    #[error("the digest does not fit: the content has {found}")]
    Digest { found: String },
    /// It names a signer whose signature it does not bear.
    #[error("the signature does not fit: \"{0}\" did not sign this")]
    Signature(String),
    #[error("the journal cannot be read: {0}")]
    Journal(String),
    #[error("event {place} of the journal is numbered {n}")]
    Order {
        /// The place, from 1.
        place: usize,
        n: u64,
    },
    #[error("event {n}{}: \"{entered}\" was entered, which gives {found}", at_circuit(.circuit.as_deref()))]
    Entered {
        n: u64,
        /// The circuit that was under test, where one was.
        circuit: Option<String>,
        entered: String,
        /// What it gives, or why it gives nothing.
        found: String,
    },
    /// A text of the procedure is not there as it was, or does not run.
    #[error("the procedure: {0}")]
    Procedure(String),
    /// The walk comes to no end with the answers at hand; says where and why.
    #[error("walked again, {0}")]
    Walk(String),
    /// The procedure asks something else than the journal says that it asked.
    #[error("event {n}: the procedure asks this with other limits, choices or units")]
    Asked { n: u64 },
    /// A caution was read after something that comes behind it.
    #[error("event {n}: this caution stands before event {done}, and was read after it")]
    Caution {
        n: u64,
        /// What had been answered by then.
        done: u64,
    },
    /// A field is not what the procedure and its answers come to; all in SI.
    #[error("{field} is stated as {}; the procedure and its answers give {}", short(&.stated.to_string()), short(&.found.to_string()))]
    Differs {
        /// The field, as a JSON pointer (RFC 6901).
        field: String,
        /// The circuit that it belongs to, where it does to one.
        circuit: Option<String>,
        stated: Value,
        found: Value,
    },
    /// It says the same, but not in the bytes that were stored.
    #[error("not written as it was stored: spacing or spelling was changed")]
    Form,
}

/// Something about a record that is no fault.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RecordRemark {
    #[error(
        "event {n} is stamped earlier than the one before it: the clock was set back, or a time was changed"
    )]
    Backwards { n: u64 },
    /// It lies in a file of another name, as a copy may.
    #[error("the file is named {file}, the session in it {session}")]
    Name {
        /// The name of the file, without its extension.
        file: String,
        session: String,
    },
}

fn at_circuit(circuit: Option<&str>) -> String {
    circuit.map(|circuit| format!(", circuit \"{circuit}\"")).unwrap_or_default()
}

/// Cuts a long text short.
fn short(text: &str) -> String {
    const MOST: usize = 120;
    match text.char_indices().nth(MOST) {
        Some((end, _)) => format!("{}...", &text[..end]),
        None => text.to_owned(),
    }
}

impl RecordFault {
    /// Says it to people: a field by its name, in the unit that it is read in.
    pub(crate) fn told(&self) -> String {
        let RecordFault::Differs { field, circuit, stated, found } = self else { return self.to_string() };
        let field = Field::of(field, circuit.as_deref());
        let [stated, found] = field.values(stated, found);
        format!(
            "{} is stated as {}; the procedure and its answers give {}",
            field.name(),
            short(&stated),
            short(&found)
        )
    }

    /// Returns the circuit that it is about, where that is known.
    pub(crate) fn circuit(&self) -> Option<&str> {
        match self {
            RecordFault::Entered { circuit, .. } | RecordFault::Differs { circuit, .. } => circuit.as_deref(),
            _ => None,
        }
    }

    /// Returns a word for the kind, for programs.
    pub fn kind(&self) -> &'static str {
        match self {
            RecordFault::NotJson(_) => "not_json",
            RecordFault::NoRecord => "no_record",
            RecordFault::Schema(_) => "schema",
            RecordFault::Digest { .. } => "digest",
            RecordFault::Signature(_) => "signature",
            RecordFault::Journal(_) => "journal",
            RecordFault::Order { .. } => "order",
            RecordFault::Entered { .. } => "entered",
            RecordFault::Procedure(_) => "procedure",
            RecordFault::Walk(_) => "walk",
            RecordFault::Asked { .. } => "asked",
            RecordFault::Caution { .. } => "caution",
            RecordFault::Differs { .. } => "differs",
            RecordFault::Form => "form",
        }
    }

    /// Returns the field that the fault is about, as a JSON pointer, where that is known.
    pub fn field(&self) -> Option<&str> {
        match self {
            RecordFault::Differs { field, .. } => Some(field),
            RecordFault::Digest { .. } => Some("/digest"),
            RecordFault::Schema(why) => why.split_once(": ").map(|(place, _)| place),
            _ => None,
        }
    }
}

impl Audit {
    /// Returns whether it names a signer whose signature it does not bear.
    pub(crate) fn is_falsely_signed(&self) -> bool {
        self.faults.iter().any(|fault| matches!(fault, RecordFault::Signature(_)))
    }

    /// Returns whether so little of it can be read that nothing can be said of its signature.
    pub(crate) fn is_unread(&self) -> bool {
        self.faults.iter().any(|fault| matches!(fault, RecordFault::NotJson(_) | RecordFault::NoRecord))
    }

    /// Says what a shop is to know first of a record that is not as it was stored: that its digest does not fit, and
    /// the first place found that does not follow from procedure and answers.
    pub(crate) fn first_told(&self) -> Option<String> {
        let is_digest = |fault: &RecordFault| matches!(fault, RecordFault::Digest { .. });
        let digest = self
            .faults
            .iter()
            .any(is_digest)
            .then_some("The digest does not fit the content: one of them is not as it was stored.");
        let of_event = self.faults.iter().find_map(|fault| match fault {
            RecordFault::Entered { n, circuit, .. } => {
                Some(format!("event {n}{}", at_circuit(circuit.as_deref())))
            }
            RecordFault::Asked { n } | RecordFault::Caution { n, .. } => Some(format!("event {n}")),
            _ => None,
        });
        let differing = || {
            self.faults.iter().filter_map(|fault| match fault {
                RecordFault::Differs { field, circuit, .. } => Some(Field::of(field, circuit.as_deref())),
                _ => None,
            })
        };
        let of_field = || {
            let of_circuit = differing().find_map(|field| field.place());
            of_circuit.or_else(|| differing().next().map(|field| field.name()))
        };
        let first = of_event.or_else(of_field);
        let first = first.map(|first| format!("Look first at {first}."));
        let told: Vec<String> = digest.map(str::to_owned).into_iter().chain(first).collect();
        (!told.is_empty()).then(|| told.join(" "))
    }

    /// Returns whether nothing is wrong.
    pub fn is_in_order(&self) -> bool {
        self.faults.is_empty()
    }

    /// Returns whether all that is wrong may come of another version of the program, which asks, tells or works out
    /// otherwise.
    pub fn is_of_other_version(&self) -> bool {
        let follows = |fault: &RecordFault| {
            matches!(
                fault,
                RecordFault::Procedure(_)
                    | RecordFault::Walk(_)
                    | RecordFault::Asked { .. }
                    | RecordFault::Caution { .. }
                    | RecordFault::Differs { .. }
            )
        };
        self.other_version.is_some() && !self.is_in_order() && self.faults.iter().all(follows)
    }
}
