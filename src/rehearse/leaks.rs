use std::fmt;
use std::str::FromStr;

use crate::leak::Limits;
use crate::quantity::{Entry, Length, Pressure, Unit};
use crate::rig::simulated::Chance;
use crate::rig::{Calibration, STANDARD_PLUGGED};

/// A leak that somebody chose, written `clutch feed=0.020in`, `clutch feed=worn` or `clutch feed: outboard=leaks`.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ChosenLeak {
    /// The circuit's name; of one reading only, with a colon and that reading's label behind it.
    pub place: String,
    pub state: LeakState,
}

/// How a simulated circuit is to be found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum LeakState {
    /// It leaks like a hole of this bore.
    Hole(Length),
    Sound,
    Worn,
    /// Well past the limit for leaking.
    Leaks,
    /// Well past the limit for being too open.
    Open,
    /// Well past the limit for being too tight.
    Tight,
}

impl LeakState {
    /// Returns whether what is judged by these limits can be found so.
    pub(crate) fn fits(self, limits: &Limits) -> bool {
        match self {
            LeakState::Hole(_) | LeakState::Sound => true,
            LeakState::Worn | LeakState::Leaks => !limits.is_window(),
            LeakState::Open | LeakState::Tight => limits.is_window(),
        }
    }
}

/// Why a text is not a chosen leak.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub(crate) enum NoLeak {
    #[error(
        "write the circuit's name, =, and sound, worn, leaks or a hole, as in \"clutch feed=worn\" or \"clutch feed=0.020in\", of \
         a passage open or tight; for one reading only put its label behind the name, as in \"clutch feed: outboard=leaks\""
    )]
    Form,
    #[error("a hole lies between 0 and 0.2 in")]
    Hole,
    #[error("{0}")]
    Number(String),
}

impl FromStr for ChosenLeak {
    type Err = NoLeak;

    fn from_str(text: &str) -> Result<ChosenLeak, NoLeak> {
        let (place, state) = text.rsplit_once('=').ok_or(NoLeak::Form)?;
        let state = match state.trim().to_lowercase().as_str() {
            "sound" => LeakState::Sound,
            "worn" => LeakState::Worn,
            "leaks" => LeakState::Leaks,
            "open" => LeakState::Open,
            "tight" => LeakState::Tight,
            hole if hole.starts_with(|c: char| c.is_ascii_digit() || c == '.') => {
                LeakState::Hole(bore(hole)?)
            }
            _ => return Err(NoLeak::Form),
        };
        Ok(ChosenLeak { place: place.trim().to_owned(), state })
    }
}

fn bore(text: &str) -> Result<Length, NoLeak> {
    let inch = Unit::by_word("inch").ok_or(NoLeak::Hole)?;
    let entry = Entry::parse(text, inch).map_err(|error| NoLeak::Number(error.to_string()))?;
    let hole = entry.quantity().and_then(|quantity| Length::try_from(quantity).ok());
    hole.filter(|hole| (0.0..=5e-3).contains(&hole.si())).ok_or(NoLeak::Hole)
}

impl fmt::Display for ChosenLeak {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.state {
            LeakState::Hole(hole) => write!(f, "{} leaks like a hole of {hole}", self.place),
            LeakState::Sound => write!(f, "{} is sound", self.place),
            LeakState::Worn => write!(f, "{} is worn", self.place),
            LeakState::Leaks => write!(f, "{} leaks", self.place),
            LeakState::Open => write!(f, "{} is too open", self.place),
            LeakState::Tight => write!(f, "{} is too tight", self.place),
        }
    }
}

/// The leaks of a simulated unit: chosen ones by name, all others sound, or drawn where that is asked for.
///
/// Sound circuits read about 22 to 23 inHg (common practice, no source), and more where their own limits want it. Of
/// drawn circuits about one in five is worn or leaks, and now and then a first seat is poor, so that the faults are to be
/// found.
#[derive(Debug, Clone)]
pub(crate) struct Leaks {
    seed: u64,
    is_drawn: bool,
    chosen: Vec<ChosenLeak>,
}

/// The most of the leak at the limit for holding that a sound circuit has: it must hold past the errors of a gauge
/// (common practice, no source).
const SOUND: f64 = 0.5;
/// The share of the limit for leaking that a leaking circuit reads, for the same reason.
const LEAKING: f64 = 0.6;

impl Leaks {
    /// Makes a unit in which every circuit is sound; the seed draws by how little each leaks.
    pub(crate) fn sound(seed: u64) -> Leaks {
        Leaks { seed, is_drawn: false, chosen: Vec::new() }
    }

    /// Makes a unit whose worn and leaking circuits the seed draws.
    pub(crate) fn drawn(seed: u64) -> Leaks {
        Leaks { is_drawn: true, ..Leaks::sound(seed) }
    }

    #[must_use]
    pub(crate) fn with(self, chosen: impl IntoIterator<Item = ChosenLeak>) -> Leaks {
        Leaks { chosen: chosen.into_iter().collect(), ..self }
    }

    /// Returns the leak of a circuit, in areas of this test orifice, on this take of the reading with this label, which is
    /// judged by these limits.
    pub(crate) fn of(
        &self,
        circuit: &str,
        label: Option<&str>,
        limits: Option<Limits>,
        take: u32,
        orifice: Length,
    ) -> f64 {
        type Standard = dyn Fn(&Limits) -> f64;
        let at = |standard: &Standard| leak_at(standard(limits.as_ref()?), orifice);
        let of_window =
            |standard: &Standard| at(standard).filter(|_| limits.is_some_and(|limits| limits.is_window()));
        let mut chance =
            Chance::new(self.seed ^ hash(circuit) ^ hash(label.unwrap_or_default()).rotate_left(17));
        let leak = match self.chosen(circuit, label) {
            Some(LeakState::Hole(hole)) => (hole.si() / orifice.si()).powi(2),
            Some(LeakState::Sound) => sound_leak(limits, &mut chance, orifice),
            Some(LeakState::Worn) => at(&middle).unwrap_or(0.25),
            Some(LeakState::Leaks | LeakState::Open) => at(&open).unwrap_or(0.7),
            Some(LeakState::Tight) => at(&tight).unwrap_or(0.0),
            None if self.is_drawn => match chance.share() {
                share if share < 0.80 => sound_leak(limits, &mut chance, orifice),
                share if share < 0.90 => of_window(&tight).unwrap_or(chance.between(0.20, 0.30)),
                _ => of_window(&open).unwrap_or(chance.between(0.5, 0.9)),
            },
            None => sound_leak(limits, &mut chance, orifice),
        };
        let seats_poorly = self.is_drawn && self.chosen.is_empty() && chance.share() < 0.15;
        if seats_poorly && take == 1 { leak + 0.25 } else { leak }
    }

    /// Says in a sentence or two what the unit is like, without giving away what is drawn.
    pub(crate) fn summary(&self) -> String {
        let chosen = self.chosen.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
        match (chosen.as_str(), self.is_drawn) {
            ("", false) => {
                "In the simulated unit every circuit is sound. Faults come with --leak or, unknown to you, with --seed."
                    .to_owned()
            }
            ("", true) => format!(
                "Which circuits of the simulated unit are worn or leak is drawn with the number {}, and not told: find \
                 them.",
                self.seed
            ),
            (chosen, false) => {
                format!("In the simulated unit: {chosen}. Everything else is sound.")
            }
            (chosen, true) => format!(
                "In the simulated unit: {chosen}. What else is worn or leaks is drawn with the number {}, and not told.",
                self.seed
            ),
        }
    }

    /// Returns what was chosen for a reading; what names the reading goes before what names the circuit only.
    fn chosen(&self, circuit: &str, label: Option<&str>) -> Option<LeakState> {
        let of =
            |place: &str| self.chosen.iter().rev().find(|leak| leak.place == place).map(|leak| leak.state);
        label.and_then(|label| of(&format!("{circuit}: {label}"))).or_else(|| of(circuit))
    }
}

/// Well past the lower limit, in Pa, as the next one is past the upper one.
fn open(limits: &Limits) -> f64 {
    LEAKING * limits.lower().si()
}

fn tight(limits: &Limits) -> f64 {
    f64::midpoint(limits.upper().si(), STANDARD_PLUGGED.si())
}

fn middle(limits: &Limits) -> f64 {
    f64::midpoint(limits.lower().si(), limits.upper().si())
}

fn sound_leak(limits: Option<Limits>, chance: &mut Chance, orifice: Length) -> f64 {
    let usual = chance.between(0.060, 0.105);
    match limits {
        None => usual,
        Some(limits) if limits.is_window() => leak_at(middle(&limits), orifice).unwrap_or(usual),
        Some(limits) => leak_at(limits.upper().si(), orifice).map_or(usual, |most| usual.min(SOUND * most)),
    }
}

/// Returns the leak, in areas of this test orifice, behind a standard reading in Pa.
fn leak_at(standard: f64, orifice: Length) -> Option<f64> {
    let rig = Calibration::standard();
    let share = rig.orifice().diameter().si() / orifice.si();
    Some(rig.leak_at(Pressure::from_si(standard)?).ok()? * share * share)
}

/// FNV-1a, so that a name gives the same leak on every machine (constants: Fowler, Noll, Vo; from memory).
fn hash(text: &str) -> u64 {
    text.bytes()
        .fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}
