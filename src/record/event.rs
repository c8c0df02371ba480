//! The events of a session's journal.

use std::sync::Arc;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::{Answer, Circuit, HoseOn, Opening, ProcedureIdentity, Question, RigParts};

/// One event of the journal, which is written as a `Line`.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// Counts the events of a session, from 1.
    pub n: u64,
    /// When it was written, by the machine's clock.
    pub at: Timestamp,
    /// What happened.
    pub what: What,
}

/// What an event says.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// The session began, with everything that was settled before the first question.
    Opened { opening: Box<Opening> },
    /// A question was answered.
    Answered { question: Question, answer: Answer },
    /// Answers were taken back, by the numbers of their events; they stay in the journal.
    Retracted { answers: Vec<u64> },
    /// The rig was found to have drifted: the readings since it was last known to be good are taken back, the check
    /// that found it included, and these circuits are tested again; none where nothing was read since then.
    Drifted { answers: Vec<u64>, circuits: Vec<String> },
    /// The technician jotted something down, about the circuit under test where there was one.
    Jotted { circuit: Option<String>, text: String },
    /// The technician took a photo, of the circuit under test where there was one.
    Photographed { circuit: Option<String>, photo: Photo },
    /// A student did something at the simulated bench beside answering, in the words of the bench: at this circuit,
    /// where one was under test, and with this to be read, where a reading was asked for.
    Did { circuit: Option<String>, on: Option<HoseOn>, doing: String },
    /// The session was parked.
    Parked,
    /// The session was taken up again.
    Resumed {
        /// Version of the program that did.
        program: String,
        /// The procedure as it is now, where it has changed.
        procedure: Option<Box<ProcedureIdentity>>,
        /// Those of its texts that the journal has not yet.
        texts: Vec<String>,
        /// The parts of the rig as they are now, where they have changed.
        rig: Option<RigParts>,
    },
    /// Somebody else tests from here on.
    TakenOver { technician: String },
    /// The procedure came to its end: the answers of the walk to there, in order, by the numbers of their events.
    Finished { walk: Vec<u64> },
}

/// A photo as a record has it; the picture itself lies in the shop.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Photo {
    /// SHA-256 of the JPEG that is kept, in hexadecimal.
    pub sha256: String,
    /// Its width in pixels.
    pub width: u32,
    /// Its height in pixels.
    pub height: u32,
    /// What it shows, where the technician said that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub words: Option<String>,
}

/// How a finding begins that says what could not be done.
pub(crate) const COULD_NOT_BE_DONE: &str = "could not be done: ";

/// Something that a procedure tells, without asking.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Told {
    /// A new section begins.
    Section {
        /// Its title.
        title: String,
    },
    /// A plain text.
    Said {
        /// The text.
        text: String,
    },
    /// A circuit is described.
    Described {
        /// The circuit.
        circuit: Arc<Circuit>,
    },
    /// The unit does not have a circuit.
    NotFitted {
        /// Its name.
        circuit: String,
        /// By what that is known.
        why: String,
    },
    /// The test of a circuit is passed over, since the plan leaves it out or it comes at another time.
    Passed {
        /// Its name.
        circuit: String,
    },
    /// The test of a circuit begins.
    Began {
        /// Its name.
        circuit: String,
    },
    /// The test of a circuit ends.
    Ended {
        /// Its name.
        circuit: String,
    },
    /// The procedure has concluded something.
    Found {
        /// The circuit under test, where there is one.
        circuit: Option<String>,
        /// The conclusion.
        text: String,
    },
}

impl Told {
    /// Returns whether a technician sees something of it that is no heading.
    pub(crate) fn is_seen(&self) -> bool {
        matches!(self, Told::Said { .. } | Told::Found { .. })
    }
}

/// Returns the procedure that a session was opened or, where it had changed, last resumed with.
pub(crate) fn latest_procedure(events: &[Event]) -> Option<&ProcedureIdentity> {
    events.iter().rev().find_map(|event| match &event.what {
        What::Opened { opening } => Some(&opening.procedure),
        What::Resumed { procedure: Some(procedure), .. } => Some(&**procedure),
        _ => None,
    })
}

/// Returns the texts of all procedures' files that a session ran with.
pub(crate) fn texts(events: &[Event]) -> impl Iterator<Item = &String> {
    events.iter().flat_map(|event| match &event.what {
        What::Opened { opening } => opening.texts.iter(),
        What::Resumed { texts, .. } => texts.iter(),
        _ => [].iter(),
    })
}

/// Returns those who took a session over, in order, each with the number of the event.
pub(crate) fn taken_over_by(events: &[Event]) -> impl DoubleEndedIterator<Item = (u64, &String)> {
    events.iter().filter_map(|event| match &event.what {
        What::TakenOver { technician } => Some((event.n, technician)),
        _ => None,
    })
}

/// Returns the version of the program that a session was opened or last resumed with.
pub(crate) fn latest_program(events: &[Event]) -> Option<&String> {
    events.iter().rev().find_map(|event| match &event.what {
        What::Opened { opening } => Some(&opening.program),
        What::Resumed { program, .. } => Some(program),
        _ => None,
    })
}

/// Returns the parts of the rig that a session was opened or, where they had changed, last resumed with.
pub(crate) fn latest_rig(events: &[Event]) -> Option<RigParts> {
    events.iter().rev().find_map(|event| match &event.what {
        What::Opened { opening } => Some(opening.rig),
        What::Resumed { rig, .. } => *rig,
        _ => None,
    })
}
