use std::collections::BTreeMap;
use std::fmt;
use std::str::FromStr;

use crate::quantity::{Entry, Length, Unit};
use crate::rig::simulated::Chance;

/// The leaks of a simulated unit: chosen ones by name, the others drawn by a seed.
///
/// Drawn circuits are mostly sound and read about 22 to 23 inHg (common practice, no source); about one in five is
/// worn or leaks, and now and then a first seat is poor, so that a rehearsal shows every kind of screen.
#[derive(Debug, Clone)]
pub struct Leaks {
    seed: u64,
    chosen: BTreeMap<String, Length>,
}

/// A leak that somebody chose, written `clutch feed limit=0.020in`.
#[derive(Debug, Clone, PartialEq)]
pub struct ChosenLeak {
    /// The circuit's name.
    pub circuit: String,
    /// The bore of the hole that it leaks like.
    pub hole: Length,
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
        let how = || NoLeak("write the circuit's name, =, and a hole: clutch feed limit=0.020in".to_owned());
        let (circuit, hole) = text.rsplit_once('=').ok_or_else(how)?;
        let inch = Unit::by_word("inch").ok_or_else(how)?;
        let entry = Entry::parse(hole, inch).map_err(|error| NoLeak(error.to_string()))?;
        let hole = entry.quantity().and_then(|quantity| Length::try_from(quantity).ok());
        let hole = hole.filter(|hole| (0.0..=5e-3).contains(&hole.si()));
        let hole = hole.ok_or_else(|| NoLeak("a hole lies between 0 and 0.2 in".to_owned()))?;
        Ok(ChosenLeak { circuit: circuit.trim().to_owned(), hole })
    }
}

impl Leaks {
    /// Takes the chosen leaks; the others follow from the seed.
    pub fn new(seed: u64, chosen: impl IntoIterator<Item = ChosenLeak>) -> Leaks {
        Leaks { seed, chosen: chosen.into_iter().map(|leak| (leak.circuit, leak.hole)).collect() }
    }

    /// Returns the leak of a circuit, in areas of this test orifice, on this take of the reading with this label.
    pub fn of(&self, circuit: &str, label: Option<&str>, take: u32, orifice: Length) -> f64 {
        let mut chance =
            Chance::new(self.seed ^ hash(circuit) ^ hash(label.unwrap_or_default()).rotate_left(17));
        let leak = match self.chosen.get(circuit) {
            Some(hole) => (hole.si() / orifice.si()).powi(2),
            None => match chance.share() {
                share if share < 0.80 => chance.between(0.060, 0.105),
                share if share < 0.90 => chance.between(0.20, 0.30),
                _ => chance.between(0.5, 0.9),
            },
        };
        let seats_poorly = self.chosen.is_empty() && chance.share() < 0.15;
        if seats_poorly && take == 1 { leak + 0.25 } else { leak }
    }
}

/// FNV-1a, so that a name gives the same leak on every machine (constants: Fowler, Noll, Vo; from memory).
fn hash(text: &str) -> u64 {
    text.bytes()
        .fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}
