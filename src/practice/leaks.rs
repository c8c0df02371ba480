use std::fmt;
use std::str::FromStr;

use crate::leak::{LeakKind, Limits};
use crate::quantity::{Entry, INCH, Length, Pressure, Unit};
use crate::record::Spot;
use crate::rig::STANDARD_PLUGGED;
use crate::rig::simulated::{AirWay, Chance, CircuitLeak, LeakShape, OilFilm, share_showing, shown_for};

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
/// drawn circuits about one in five is worn or leaks, and now and then a first seat is poor, so that the
/// faults are to be found.
#[derive(Debug, Clone)]
pub(crate) struct Leaks {
    seed: u64,
    is_drawn: bool,
    draw: Draw,
    chosen: Vec<ChosenLeak>,
}

/// Draws what a circuit that nobody chose a leak for is like.
type Draw = fn(&ReadAt<'_>, &mut Chance) -> CircuitLeak;

/// What a poor seat lets in: a quarter of what the usual test orifice does (common practice, no source).
pub(super) const POOR_SEAT_M2: f64 = 1.3e-7;

/// The land of a gap that none is known of: half an inch wide and 0.3 in long.
pub(super) const USUAL_LAND: (f64, f64) = (0.5 * INCH, 0.3 * INCH);

/// A reading of a simulated circuit.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ReadAt<'a> {
    pub circuit: &'a str,
    pub label: Option<&'a str>,
    pub spot: &'a Spot,
    pub is_trial: bool,
    /// From 1.
    pub take: u32,
}

impl ReadAt<'_> {
    pub(crate) fn limits(&self) -> Option<Limits> {
        self.spot.limits
    }

    /// Draws what its leak is like: of the kind that the circuit is said to be; else a passage that is to be open is a
    /// hole, a land leaks by its gap, and what else there is is as often the one as the other.
    pub(crate) fn shape(&self, chance: &mut Chance) -> LeakShape {
        let is_window = self.limits().is_some_and(|limits| limits.is_window());
        let kind = match (self.spot.kind, self.spot.land) {
            (Some(kind), _) => kind,
            (None, None) if is_window || chance.share() < 0.5 => LeakKind::Hole,
            (None, _) => LeakKind::Gap,
        };
        let land = self.spot.land.map(|land| (land.diameter().si(), land.length().si()));
        let (bore, length) = land.unwrap_or(USUAL_LAND);
        match kind {
            LeakKind::Gap => LeakShape::gap(bore, length, chance),
            LeakKind::Hole => LeakShape::hole(chance),
        }
    }
}

/// The most of the leak at the limit for holding that a sound circuit has: it must hold past the errors of a gauge
/// (common practice, no source).
const SOUND: f64 = 0.3;
/// The share of the limit for leaking that a leaking circuit reads, for the same reason.
const LEAKING: f64 = 0.6;

impl Leaks {
    /// Makes a unit in which every circuit is sound; the seed draws by how little each leaks.
    pub(crate) fn sound(seed: u64) -> Leaks {
        Leaks { seed, is_drawn: false, draw: sound_leak, chosen: Vec::new() }
    }

    /// Makes a unit whose worn and leaking circuits the seed draws.
    pub(crate) fn drawn(seed: u64) -> Leaks {
        Leaks::drawn_by(seed, faulty_or_sound)
    }

    pub(crate) fn drawn_by(seed: u64, draw: Draw) -> Leaks {
        Leaks { is_drawn: true, draw, ..Leaks::sound(seed) }
    }

    #[must_use]
    pub(crate) fn with(self, chosen: impl IntoIterator<Item = ChosenLeak>) -> Leaks {
        Leaks { chosen: chosen.into_iter().collect(), ..self }
    }

    /// Returns what a reading finds leaking.
    pub(crate) fn of(&self, at: &ReadAt<'_>) -> CircuitLeak {
        // With the way to its neighbour blocked a circuit is what it is otherwise, less what goes there.
        let is_blocked = at.is_trial && at.label.is_some_and(|label| label.to_lowercase().contains("block"));
        let chosen = self.chosen(at.circuit, at.label);
        let label = if is_blocked && chosen.is_none() { None } else { at.label };
        let mut chance =
            Chance::new(self.seed ^ hash(at.circuit) ^ hash(label.unwrap_or_default()).rotate_left(17));
        let leak = match chosen {
            Some(LeakState::Hole(bore)) => CircuitLeak::hole(bore),
            Some(state) => {
                CircuitLeak::showing(state.reading(at.limits(), &mut chance), at.shape(&mut chance))
            }
            None => (self.draw)(at, &mut chance),
        };
        let film = match leak.way {
            AirWay::Gap(_) => {
                OilFilm { fills: chance.between(0.0, 0.2), clears_in: chance.between(0.5, 3.0) }
            }
            _ => OilFilm::NONE,
        };
        let seats_poorly = self.is_drawn && self.chosen.is_empty() && chance.share() < 0.15;
        let seat = if seats_poorly && at.take == 1 { POOR_SEAT_M2 } else { 0.0 };
        let across = leak.across.filter(|_| !is_blocked);
        CircuitLeak { film, seat, across, ..leak }
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
                "Which circuits of the simulated unit are not sound is drawn with the number {}, and not told: the \
                 test is to find them.",
                self.seed
            ),
            (chosen, false) => {
                format!("In the simulated unit: {chosen}. Everything else is sound.")
            }
            (chosen, true) => format!(
                "In the simulated unit: {chosen}. What else is not sound is drawn with the number {}, and not told.",
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

fn sound_leak(at: &ReadAt<'_>, chance: &mut Chance) -> CircuitLeak {
    CircuitLeak::showing(sound(at.limits(), chance), at.shape(chance))
}

/// Draws a circuit: four of five are sound, of the others every third leaks across into a neighbour.
fn faulty_or_sound(at: &ReadAt<'_>, chance: &mut Chance) -> CircuitLeak {
    let limits = at.limits();
    let window = limits.filter(Limits::is_window);
    let share = chance.share();
    let (sound_reading, shape) = (sound(limits, chance), at.shape(chance));
    if share < 0.80 {
        return CircuitLeak::showing(sound_reading, shape);
    }
    let reading = match (&window, share < 0.90) {
        (Some(limits), true) => tight(limits),
        (Some(limits), false) => open(limits),
        (None, true) => shown_for(chance.between(0.20, 0.30)),
        (None, false) => shown_for(chance.between(0.5, 0.9)),
    };
    if window.is_some() || chance.share() < 2.0 / 3.0 {
        return CircuitLeak::showing(reading, shape);
    }
    let neighbour = LeakShape::gap(USUAL_LAND.0, USUAL_LAND.1, chance);
    let beyond = CircuitLeak::showing(shown_for(chance.between(1.2, 2.0)), neighbour).way;
    let own = if sound_reading > reading { sound_reading } else { reading };
    CircuitLeak::showing(own, shape).with_way_across(beyond, reading)
}

impl LeakState {
    /// The standard reading of a circuit that is so.
    pub(super) fn reading(self, limits: Option<Limits>, chance: &mut Chance) -> Pressure {
        match (self, limits) {
            (LeakState::Hole(_) | LeakState::Sound, _) => sound(limits, chance),
            (LeakState::Worn, Some(limits)) => middle(&limits),
            (LeakState::Worn, None) => shown_for(0.25),
            (LeakState::Leaks | LeakState::Open, Some(limits)) => open(&limits),
            (LeakState::Leaks | LeakState::Open, None) => shown_for(0.7),
            (LeakState::Tight, Some(limits)) => tight(&limits),
            (LeakState::Tight, None) => STANDARD_PLUGGED,
        }
    }
}

/// Well past the lower limit, as the next one is past the upper one.
fn open(limits: &Limits) -> Pressure {
    Pressure::constant(LEAKING * limits.lower().si())
}

fn tight(limits: &Limits) -> Pressure {
    Pressure::constant(f64::midpoint(limits.upper().si(), STANDARD_PLUGGED.si()))
}

fn middle(limits: &Limits) -> Pressure {
    Pressure::constant(f64::midpoint(limits.lower().si(), limits.upper().si()))
}

fn sound(limits: Option<Limits>, chance: &mut Chance) -> Pressure {
    let usual = chance.between(0.060, 0.105);
    match limits {
        None => shown_for(usual),
        Some(limits) if limits.is_window() => middle(&limits),
        Some(limits) => shown_for(usual.min(SOUND * share_showing(limits.upper()))),
    }
}

/// FNV-1a, so that a name gives the same leak on every machine (constants: Fowler, Noll, Vo; from memory).
fn hash(text: &str) -> u64 {
    text.bytes()
        .fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}
