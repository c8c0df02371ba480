use std::fmt;

use serde::Serialize;

use crate::quantity::Pressure;

/// One thing that is different in another version of a procedure, as a mechanic would say it.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "change", rename_all = "snake_case")]
pub enum Change {
    /// A warning is gone.
    CautionDropped {
        /// Its words.
        words: String,
    },
    /// A warning says it in other words.
    CautionReworded {
        /// The old words.
        from: String,
        /// The new words.
        to: String,
    },
    /// A limit lies elsewhere.
    LimitMoved {
        /// The circuit.
        circuit: String,
        /// `holds` or `leaks`.
        limit: &'static str,
        /// Where it lay, a standard reading in Pa; none where it was to be found.
        from_pa: Option<Pressure>,
        /// Where it lies now, a standard reading in Pa; none where it is to be found.
        to_pa: Option<Pressure>,
    },
    /// The limits of a measured value are others.
    RangeMoved {
        /// The circuit under test.
        circuit: Option<String>,
        /// The question's words.
        question: String,
        /// What lay within, as `12.7 mm to 12.8 mm`.
        from: String,
        /// What lies within now.
        to: String,
    },
    /// A circuit is no longer tested.
    CircuitRemoved {
        /// Its name.
        circuit: String,
    },
    /// A circuit is new.
    CircuitAdded {
        /// Its name.
        circuit: String,
        /// The standard reading at which it holds, in Pa; none where it is to be found.
        holds_pa: Option<Pressure>,
        /// The standard reading at which it leaks, in Pa; none where it is to be found.
        leaks_pa: Option<Pressure>,
    },
    /// A circuit has another name.
    CircuitRenamed {
        /// Its old name.
        from: String,
        /// Its new name.
        to: String,
    },
    /// A warning is new.
    CautionAdded {
        /// Its words.
        words: String,
    },
    /// A step says it in other words.
    StepReworded {
        /// The circuit under test.
        circuit: Option<String>,
        /// The old words.
        from: String,
        /// The new words.
        to: String,
    },
    /// A step is gone.
    StepRemoved {
        /// The circuit under test.
        circuit: Option<String>,
        /// Its words.
        words: String,
    },
    /// A step is new.
    StepAdded {
        /// The circuit under test.
        circuit: Option<String>,
        /// Its words.
        words: String,
    },
    /// Something else about a circuit or the procedure is different.
    Detail {
        /// The circuit; none where the procedure as a whole is meant.
        circuit: Option<String>,
        /// What is different, as `port`.
        what: &'static str,
        /// What it was.
        from: String,
        /// What it is.
        to: String,
    },
}

impl Change {
    /// Returns how much it matters, the least number most: what can hurt somebody stands in front, then what decides
    /// otherwise than before.
    pub fn weight(&self) -> usize {
        match self {
            Change::CautionDropped { .. } => 0,
            Change::CautionReworded { .. } => 1,
            Change::LimitMoved { .. } | Change::RangeMoved { .. } => 2,
            Change::CircuitRemoved { .. } => 3,
            Change::CircuitAdded { .. } => 4,
            Change::CircuitRenamed { .. } => 5,
            Change::CautionAdded { .. } => 6,
            Change::StepReworded { .. } => 7,
            Change::StepRemoved { .. } => 8,
            Change::StepAdded { .. } => 9,
            Change::Detail { .. } => 10,
        }
    }
}

impl fmt::Display for Change {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let of = |circuit: &Option<String>| {
            circuit.as_ref().map(|circuit| format!(" of {circuit}")).unwrap_or_default()
        };
        match self {
            Change::CautionDropped { words } => write!(f, "caution dropped: {words}"),
            Change::CautionReworded { from, to } => {
                write!(f, "caution reworded: {from} / now: {to}")
            }
            Change::CautionAdded { words } => write!(f, "caution added: {words}"),
            Change::LimitMoved { circuit, limit, from_pa, to_pa } => {
                let (Some(from), Some(to)) = (from_pa, to_pa) else {
                    return match to_pa {
                        Some(to) => write!(f, "limit found: {circuit} {limit} at {to}, so it is judged now"),
                        None => write!(f, "limit dropped: {circuit} {limit}, so it is judged no longer"),
                    };
                };
                write!(f, "limit moved: {circuit} {limit} from {from} to {to}, ")?;
                f.write_str(match (*limit, to > from) {
                    ("holds", true) => "so less of it passes as sound",
                    ("holds", false) => "so more of it passes as sound",
                    (_, true) => "so more of it is condemned",
                    (_, false) => "so less of it is condemned",
                })
            }
            Change::RangeMoved { circuit, question, from, to } => {
                write!(f, "limits moved{}: {question} {from}, now {to}", of(circuit))
            }
            Change::CircuitRemoved { circuit } => write!(f, "circuit removed: {circuit}"),
            Change::CircuitAdded { circuit, holds_pa: Some(holds), leaks_pa: Some(leaks) } => {
                write!(f, "circuit added: {circuit} (holds at {holds}, leaks at {leaks})")
            }
            Change::CircuitAdded { circuit, .. } => {
                write!(f, "circuit added: {circuit} (limits to be found)")
            }
            Change::CircuitRenamed { from, to } => write!(f, "circuit renamed: {from} is {to} now"),
            Change::StepReworded { circuit, from, to } => {
                write!(f, "step reworded{}: {from} / now: {to}", of(circuit))
            }
            Change::StepRemoved { circuit, words } => write!(f, "step removed{}: {words}", of(circuit)),
            Change::StepAdded { circuit, words } => write!(f, "step added{}: {words}", of(circuit)),
            Change::Detail { circuit, what, from, to } => {
                let nothing = |text: &String| if text.is_empty() { "none".to_owned() } else { text.clone() };
                write!(f, "{what}{} changed: {}, now {}", of(circuit), nothing(from), nothing(to))
            }
        }
    }
}
