use crate::procedure::{Place, RESEAT};
use crate::record::{Asker, Circuit, HoseOn, Question, Told, Wants};

/// One thing on a form.
#[derive(Debug, Clone, PartialEq)]
pub(in super::super) enum Item {
    /// A section begins.
    Section(String),
    /// The test of a circuit begins.
    Circuit(Box<Circuit>),
    /// Something to read.
    Said(String),
    /// A conclusion to tick where it applies.
    Found(String),
    /// The rig is set here.
    Calibration,
    /// A question, with the circuit under test.
    Asked(Box<Question>, Option<Box<Circuit>>),
}

impl Item {
    /// Returns what a form has for something told.
    pub(in super::super) fn told(told: &Told, circuits: impl Fn(&str) -> Option<Circuit>) -> Option<Item> {
        match told {
            Told::Section { title } => Some(Item::Section(title.clone())),
            Told::Said { text } => Some(Item::Said(text.clone())),
            Told::Found { text, .. } => Some(Item::Found(text.clone())),
            Told::Began { circuit } => circuits(circuit).map(|circuit| Item::Circuit(Box::new(circuit))),
            Told::Described { .. } | Told::Ended { .. } => None,
        }
    }

    /// Returns what a form has for a question; what the runner asks once for all stands at its head.
    pub(in super::super) fn asked(question: &Question, place: &Place) -> Option<Item> {
        if question.asker == Asker::Runner {
            return match &question.wants {
                Wants::Reading { on: HoseOn::Rig { .. }, .. } => Some(Item::Calibration),
                _ => None,
            };
        }
        // A field for a reading has room for the takes after seating again.
        if question.words == RESEAT {
            return None;
        }
        Some(Item::Asked(Box::new(question.clone()), place.circuit.clone().map(Box::new)))
    }

    /// Returns whether it is ticked at most, so that nothing is lost where nobody asks for it.
    pub(super) fn is_ticked(&self) -> bool {
        match self {
            Item::Asked(question, _) => {
                matches!(question.wants, Wants::Acknowledgement | Wants::Ready | Wants::Wait { .. })
            }
            Item::Found(_) | Item::Calibration => true,
            Item::Section(_) | Item::Circuit(_) | Item::Said(_) => false,
        }
    }

    /// Returns whether something is to be filled in or ticked, so that it has a number.
    pub(super) fn is_field(&self) -> bool {
        !matches!(self, Item::Section(_) | Item::Circuit(_) | Item::Said(_))
    }
}
