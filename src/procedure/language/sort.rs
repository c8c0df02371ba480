use std::fmt;

use crate::quantity::Dimension;

/// What kind of thing a value in a script is, as far as its text tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// A plain number.
    Number,
    /// A text in quotes.
    Text,
    /// Yes or no.
    YesNo,
    /// A quantity, with its dimension where that is known.
    Quantity(Option<Dimension>),
    /// What `read` and `trial` give.
    Reading,
    /// What `ask_number` gives.
    Measurement,
    /// What `circuit` gives.
    Circuit,
    /// The `t` of a test.
    Test,
    /// The steps of a test, `|t| { ... }`.
    Steps,
    /// A list of these.
    List(&'static Sort),
    /// A description, `#{ ... }`.
    Description,
    /// Nothing.
    Nothing,
    /// What only running it tells.
    Unknown,
}

impl Sort {
    /// Returns whether a value of another sort can stand where this one is wanted, as far as the text tells.
    pub fn takes(self, other: Sort) -> bool {
        match (self, other) {
            (Sort::Unknown, _) | (_, Sort::Unknown) => true,
            (Sort::Quantity(wanted), Sort::Quantity(found)) => {
                wanted.is_none() || found.is_none() || wanted == found
            }
            (Sort::List(wanted), Sort::List(found)) => wanted.takes(*found),
            _ => self == other,
        }
    }
}

impl fmt::Display for Sort {
    /// Writes it as in "a circuit is wanted here".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Sort::Number => "number",
            Sort::Text => "text",
            Sort::YesNo => "yes or no",
            Sort::Quantity(None) => "quantity",
            Sort::Quantity(Some(dimension)) => dimension.name(),
            Sort::Reading => "reading",
            Sort::Measurement => "measurement",
            Sort::Circuit => "circuit",
            Sort::Test => "test",
            Sort::Steps => "set of steps",
            Sort::List(Sort::Text) => "list of texts",
            Sort::List(Sort::Description) => "list of descriptions",
            Sort::List(_) => "list",
            Sort::Description => "description",
            Sort::Nothing => "nothing",
            Sort::Unknown => "value",
        })
    }
}
