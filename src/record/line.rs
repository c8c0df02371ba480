//! An event as a line of a document: what happened stands beside its number and time, under the names
//! that a reader looks for.

use std::borrow::Cow;

use jiff::Timestamp;
use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::opening::is_false;
use super::{
    Answer, Asker, Event, HoseOn, Opening, Photo, ProcedureIdentity, Question, RigParts, Wants, What,
};

/// A line of the journal. It holds just one of `opened`, `answer`, `retracted`, `jotted`, `photographed`, `did`,
/// `parked`, `resumed`, `taken_over_by` and `finished`, and what belongs to that.
#[derive(Default, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename = "Event"))]
#[serde(deny_unknown_fields)]
pub(super) struct Line<'a> {
    /// Counts the events of a session, from 1.
    n: u64,
    /// When it was written, by the machine's clock.
    #[cfg_attr(test, schemars(with = "String"))]
    at: Timestamp,
    /// The session began with everything that was settled before the first question.
    #[serde(skip_serializing_if = "Option::is_none")]
    opened: Option<Cow<'a, Box<Opening>>>,
    /// Who asks; where it is left out, the procedure.
    #[serde(default, skip_serializing_if = "Asker::is_procedure")]
    asker: Asker,
    /// The circuit under test, where there was one.
    #[serde(skip_serializing_if = "Option::is_none")]
    circuit: Option<Cow<'a, str>>,
    /// What was asked, in the words of the asker.
    #[serde(skip_serializing_if = "Option::is_none")]
    asked: Option<Cow<'a, str>>,
    /// Counts equal questions (same asker, circuit, kind and words) of one walk, from 1.
    #[serde(default = "first", skip_serializing_if = "is_first")]
    occurrence: u32,
    /// What kind of answer was wanted, and what it had to fit.
    #[serde(skip_serializing_if = "Option::is_none")]
    wants: Option<Cow<'a, Wants>>,
    /// What was answered.
    #[serde(skip_serializing_if = "Option::is_none")]
    answer: Option<Cow<'a, Answer>>,
    /// Numbers of the events whose answers were taken back; they stay in the journal.
    #[serde(skip_serializing_if = "Option::is_none")]
    retracted: Option<Cow<'a, [u64]>>,
    /// They were taken back since the rig was found to have drifted, the check that found it included; the circuits
    /// that are tested again.
    #[serde(skip_serializing_if = "Option::is_none")]
    drifted: Option<Cow<'a, [String]>>,
    /// What the technician jotted down.
    #[serde(skip_serializing_if = "Option::is_none")]
    jotted: Option<Cow<'a, str>>,
    /// The photo that the technician took.
    #[serde(skip_serializing_if = "Option::is_none")]
    photographed: Option<Cow<'a, Photo>>,
    /// What a student did at the simulated bench beside answering, in the words of the bench.
    #[serde(skip_serializing_if = "Option::is_none")]
    did: Option<Cow<'a, str>>,
    /// What was to be read then, where a reading was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    on: Option<Cow<'a, HoseOn>>,
    /// The session was parked.
    #[serde(default, skip_serializing_if = "is_false")]
    parked: bool,
    /// The session was taken up again.
    #[serde(skip_serializing_if = "Option::is_none")]
    resumed: Option<Box<Resumed<'a>>>,
    /// Somebody else tests from here on.
    #[serde(skip_serializing_if = "Option::is_none")]
    taken_over_by: Option<Cow<'a, str>>,
    /// The procedure came to its end: the answers of the walk to there, in order, by the numbers of their events.
    #[serde(skip_serializing_if = "Option::is_none")]
    finished: Option<Cow<'a, [u64]>>,
}

/// What was so when a session was taken up again.
#[derive(Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct Resumed<'a> {
    /// Version of the program that did.
    program: Cow<'a, str>,
    /// The procedure as it is now, where it has changed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    procedure: Option<Cow<'a, ProcedureIdentity>>,
    /// Those of its texts that the journal has not yet.
    #[serde(default, skip_serializing_if = "<[String]>::is_empty")]
    texts: Cow<'a, [String]>,
    /// The parts of the rig as they are now, where they have changed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    rig: Option<RigParts>,
}

fn first() -> u32 {
    1
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
fn is_first(occurrence: &u32) -> bool {
    *occurrence == 1
}

impl<'a> Line<'a> {
    fn of(event: &'a Event) -> Line<'a> {
        let line = Line { n: event.n, at: event.at, occurrence: 1, ..Line::default() };
        match &event.what {
            What::Opened { opening } => Line { opened: Some(Cow::Borrowed(opening)), ..line },
            What::Answered { question, answer } => Line {
                asker: question.asker,
                circuit: question.circuit.as_deref().map(Cow::Borrowed),
                asked: Some(Cow::Borrowed(&question.words)),
                occurrence: question.occurrence,
                wants: Some(Cow::Borrowed(&question.wants)),
                answer: Some(Cow::Borrowed(answer)),
                ..line
            },
            What::Retracted { answers } => Line { retracted: Some(Cow::Borrowed(answers)), ..line },
            What::Drifted { answers, circuits } => Line {
                retracted: Some(Cow::Borrowed(answers)),
                drifted: Some(Cow::Borrowed(circuits)),
                ..line
            },
            What::Jotted { circuit, text } => Line {
                circuit: circuit.as_deref().map(Cow::Borrowed),
                jotted: Some(Cow::Borrowed(text)),
                ..line
            },
            What::Photographed { circuit, photo } => Line {
                circuit: circuit.as_deref().map(Cow::Borrowed),
                photographed: Some(Cow::Borrowed(photo)),
                ..line
            },
            What::Did { circuit, on, doing } => Line {
                circuit: circuit.as_deref().map(Cow::Borrowed),
                did: Some(Cow::Borrowed(doing)),
                on: on.as_ref().map(Cow::Borrowed),
                ..line
            },
            What::Parked => Line { parked: true, ..line },
            What::Resumed { program, procedure, texts, rig } => Line {
                resumed: Some(Box::new(Resumed {
                    program: Cow::Borrowed(program),
                    procedure: procedure.as_deref().map(Cow::Borrowed),
                    texts: Cow::Borrowed(texts),
                    rig: *rig,
                })),
                ..line
            },
            What::TakenOver { technician } => Line { taken_over_by: Some(Cow::Borrowed(technician)), ..line },
            What::Finished { walk } => Line { finished: Some(Cow::Borrowed(walk)), ..line },
        }
    }

    /// Returns the event that it says; none where it says none.
    fn event(self) -> Option<Event> {
        let what = match self {
            Line { asked: Some(words), wants: Some(wants), answer: Some(answer), .. } => What::Answered {
                question: Question {
                    asker: self.asker,
                    circuit: self.circuit.map(Cow::into_owned),
                    words: words.into_owned(),
                    occurrence: self.occurrence,
                    wants: wants.into_owned(),
                },
                answer: answer.into_owned(),
            },
            Line { opened: Some(opening), .. } => What::Opened { opening: opening.into_owned() },
            Line { retracted: Some(answers), drifted: Some(circuits), .. } => {
                What::Drifted { answers: answers.into_owned(), circuits: circuits.into_owned() }
            }
            Line { retracted: Some(answers), .. } => What::Retracted { answers: answers.into_owned() },
            Line { jotted: Some(text), circuit, .. } => {
                What::Jotted { circuit: circuit.map(Cow::into_owned), text: text.into_owned() }
            }
            Line { photographed: Some(photo), circuit, .. } => {
                What::Photographed { circuit: circuit.map(Cow::into_owned), photo: photo.into_owned() }
            }
            Line { did: Some(doing), circuit, on, .. } => What::Did {
                circuit: circuit.map(Cow::into_owned),
                on: on.map(Cow::into_owned),
                doing: doing.into_owned(),
            },
            Line { parked: true, .. } => What::Parked,
            Line { resumed: Some(resumed), .. } => What::Resumed {
                program: resumed.program.into_owned(),
                procedure: resumed.procedure.map(|procedure| Box::new(procedure.into_owned())),
                texts: resumed.texts.into_owned(),
                rig: resumed.rig,
            },
            Line { taken_over_by: Some(technician), .. } => {
                What::TakenOver { technician: technician.into_owned() }
            }
            Line { finished: Some(walk), .. } => What::Finished { walk: walk.into_owned() },
            _ => return None,
        };
        Some(Event { n: self.n, at: self.at, what })
    }
}

impl Serialize for Event {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        Line::of(self).serialize(serializer)
    }
}

impl<'de> Deserialize<'de> for Event {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Event, D::Error> {
        let event = Line::deserialize(deserializer)?.event();
        event.ok_or_else(|| D::Error::custom("an event that says nothing that happened"))
    }
}
