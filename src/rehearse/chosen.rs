use std::fmt;
use std::str::FromStr;

use crate::quantity::{Entry, Length, Unit};

/// A leak that somebody chose, written `clutch feed=0.020in`, `clutch feed=worn` or `clutch feed: outboard=leaks`.
#[derive(Debug, Clone, PartialEq)]
pub struct ChosenLeak {
    /// The circuit's name; of one reading only, with a colon and that reading's label behind it.
    pub place: String,
    /// How it is to be found there.
    pub state: State,
}

/// How a simulated circuit is to be found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum State {
    /// It leaks like a hole of this bore.
    Hole(Length),
    /// As a good one.
    Sound,
    /// Between its limits.
    Worn,
    /// Well past the limit for leaking.
    Leaks,
}

/// Why a text is not a chosen leak.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoLeak(String);

impl fmt::Display for NoLeak {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for NoLeak {}

impl FromStr for ChosenLeak {
    type Err = NoLeak;

    fn from_str(text: &str) -> Result<ChosenLeak, NoLeak> {
        let how = || {
            NoLeak(
                "write the circuit's name, =, and sound, worn, leaks or a hole, as in \
                 \"clutch feed=worn\" or \"clutch feed=0.020in\"; for one reading only put its label behind the name, \
                 as in \"clutch feed: outboard=leaks\""
                    .to_owned(),
            )
        };
        let (place, state) = text.rsplit_once('=').ok_or_else(how)?;
        let state = match state.trim().to_lowercase().as_str() {
            "sound" => State::Sound,
            "worn" => State::Worn,
            "leaks" => State::Leaks,
            hole if hole.starts_with(|c: char| c.is_ascii_digit() || c == '.') => State::Hole(bore(hole)?),
            _ => return Err(how()),
        };
        Ok(ChosenLeak { place: place.trim().to_owned(), state })
    }
}

fn bore(text: &str) -> Result<Length, NoLeak> {
    let no_hole = || NoLeak("a hole lies between 0 and 0.2 in".to_owned());
    let inch = Unit::by_word("inch").ok_or_else(no_hole)?;
    let entry = Entry::parse(text, inch).map_err(|error| NoLeak(error.to_string()))?;
    let hole = entry.quantity().and_then(|quantity| Length::try_from(quantity).ok());
    hole.filter(|hole| (0.0..=5e-3).contains(&hole.si())).ok_or_else(no_hole)
}

impl fmt::Display for ChosenLeak {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.state {
            State::Hole(hole) => write!(f, "{} leaks like a hole of {hole}", self.place),
            State::Sound => write!(f, "{} is sound", self.place),
            State::Worn => write!(f, "{} is worn", self.place),
            State::Leaks => write!(f, "{} leaks", self.place),
        }
    }
}
