//! What is typed and can hardly be: it is asked for once more before it counts.

use super::{Reply, screens};
use crate::air::{Barometer, BarometerSource};
use crate::leak::Bench;
use crate::quantity::{Dimension, Entry, Length, Pressure, UNITS};
use crate::record::{Answer, HoseOn, Question, RigStep, Wants};
use crate::rig::coaching::DEEPEST;
use crate::rig::{Condition, Dial};
use crate::tell;

/// What was doubted: a figure, until it is typed again, a measurement, until it is made again, or that the hose has left
/// a point of the rig for a circuit, until that is read again.
#[derive(PartialEq)]
enum Doubted {
    Figure(Pressure),
    Measurement { circuit: Option<String>, words: String },
    Off { point: Condition, circuit: String },
}

impl Doubted {
    fn measurement(question: &Question) -> Doubted {
        Doubted::Measurement { circuit: question.circuit.clone(), words: question.words.clone() }
    }
}

/// What was asked for once more.
#[derive(Default)]
pub(super) struct Doubts {
    /// What that was last, and why it is over when it comes again.
    last: Option<Doubted>,
    /// What the question at hand was answered with, where that was asked for once more.
    pub(super) unkept: Option<String>,
}

impl Doubts {
    /// Returns what is said where an answer does not count yet: what can't be is refused, what can hardly be is asked about.
    pub(super) fn of<T>(
        &mut self,
        question: &Question,
        answer: &Answer,
        grounds: Grounds<'_>,
    ) -> Option<Reply<T>> {
        let (doubted, why) = doubt(question, answer, grounds)?;
        if doubted.is_some() && doubted == self.last {
            return None;
        }
        self.unkept = Some(tell::answer_text(answer));
        self.last = doubted;
        Some(if self.last.is_some() { Reply::Doubted(why) } else { Reply::Refused(why) })
    }

    /// Adds to why something can't be measured what was measured of it and not kept.
    pub(super) fn with_unkept(&self, question: &Question, why: String) -> String {
        let is_doubted = self.last.as_ref() == Some(&Doubted::measurement(question));
        let measured = self.unkept.as_ref().filter(|_| is_doubted);
        let known = measured.map(|it| format!("; before that {it}, out of its limits"));
        why + known.as_deref().unwrap_or_default()
    }

    /// Has whatever was doubted doubted anew.
    pub(super) fn begin_anew(&mut self) {
        self.last = None;
    }
}

/// What is known of the hose since the rig was last looked at, which ends on the orifice.
#[derive(Clone, Copy, Default)]
pub(super) struct HoseSince {
    /// Whether a circuit that reads as the plugged hose did was asked about since.
    pub(super) is_off_plug: bool,
    /// Whether it is known to have left the orifice.
    is_off_orifice: bool,
    /// What it showed on the orifice at the last look, where that was in this run of the program.
    orifice: Option<Pressure>,
}

impl HoseSince {
    /// Takes note of a reading: one of the rig leaves the hose there, and one of a circuit had it off the orifice.
    pub(super) fn heed(&mut self, on: &HoseOn, answer: &Answer) {
        let point = match on {
            HoseOn::Circuit { .. } => {
                self.is_off_orifice = true;
                return;
            }
            HoseOn::Check(condition) => *condition,
            HoseOn::Rig(step) => step.condition(),
        };
        let shown = match answer {
            Answer::Quantity { entry, .. } if point == Condition::Through => Pressure::from_si(entry.si),
            _ => self.orifice,
        };
        *self = HoseSince { orifice: shown, ..HoseSince::default() };
    }

    /// Returns the point of the rig that a circuit reads like, with what it showed there, where the hose may be on it still.
    fn may_be_on(
        self,
        question: &Question,
        answer: &Answer,
        bench: Option<&Bench>,
    ) -> Option<(Condition, Pressure)> {
        let (calibration, entry) = (&bench?.calibration, of_circuit(question, answer)?);
        if !self.is_off_plug && reads_as_plugged(question, answer, bench) {
            return Some((Condition::Plugged, calibration.plugged()));
        }
        let shown = self.orifice.unwrap_or(calibration.through());
        let is_like = (entry.si - shown.si()).abs() < half_a_division(&bench?.dial);
        (!self.is_off_orifice && is_like).then_some((Condition::Through, shown))
    }
}

/// What an answer is held against.
#[derive(Clone, Copy)]
pub(super) struct Grounds<'a> {
    /// The rig, where it is set.
    pub(super) bench: Option<&'a Bench>,
    pub(super) hose: HoseSince,
    /// How high the shop lies, where that is known.
    pub(super) elevation: Option<Length>,
    /// What the hose showed plugged just before, where it was.
    pub(super) plugged: Option<Pressure>,
    /// What the barometer in the room stands at, once that was asked.
    pub(super) barometer: Option<Pressure>,
}

/// Returns what is asked for once more, and why; nothing where it can well be right. What can't be is
/// asked for each time.
fn doubt(question: &Question, answer: &Answer, grounds: Grounds<'_>) -> Option<(Option<Doubted>, String)> {
    if let (Answer::Barometer { barometer, .. }, Some(elevation)) = (answer, grounds.elevation)
        && barometer.is_impossible(elevation)
    {
        return Some((None, refusal_of_barometer(barometer, elevation)));
    }
    let (doubted, why) = match (&question.wants, answer) {
        (_, Answer::Barometer { barometer, .. }) => {
            (Doubted::Figure(barometer.station()), doubt_of_barometer(barometer, grounds.elevation)?)
        }
        (Wants::Reading { on: HoseOn::Circuit { .. }, .. }, Answer::Quantity { entry, .. })
            if entry.si == 0.0 =>
        {
            (Doubted::Figure(Pressure::constant(0.0)), NO_VACUUM.to_owned())
        }
        (Wants::Reading { .. }, Answer::Quantity { entry, .. })
            if grounds.hose.may_be_on(question, answer, grounds.bench).is_some() =>
        {
            let (point, there) = grounds.hose.may_be_on(question, answer, grounds.bench)?;
            let unit = question.unit()?;
            let shown = Pressure::from_si(entry.si)?.in_unit(unit);
            let why = doubt_of_hose(point, &there.in_unit(unit), &shown);
            (Doubted::Off { point, circuit: question.circuit.clone()? }, why)
        }
        // Leads and contacts are part of what an ohmmeter shows, so a coil is not condemned by one look.
        (Wants::Number { low, high, .. }, Answer::Quantity { entry, .. })
            if question.unit().is_some_and(|unit| unit.dimension == Dimension::Resistance)
                && (low.is_some_and(|low| entry.si < low) || high.is_some_and(|high| entry.si > high)) =>
        {
            (Doubted::measurement(question), OUT_OF_LIMITS.to_owned())
        }
        (Wants::Reading { .. }, Answer::Quantity { entry, .. } | Answer::AtStop(entry))
            if grounds.barometer.is_some_and(|room| entry.si > DEEPEST * room.si()) =>
        {
            let shown = Pressure::from_si(entry.si)?;
            (Doubted::Figure(shown), doubt_of_vacuum(shown, grounds.barometer?))
        }
        (Wants::Reading { .. }, Answer::Quantity { entry, .. })
            if looks_at(question) == Some(Condition::Through) =>
        {
            let plugged = grounds.plugged.filter(|plugged| entry.si > plugged.si())?;
            let through = Pressure::from_si(entry.si)?;
            let why = format!(
                "The hose showed {plugged} plugged, and a hole can't show more than that. Where the two were mixed up, back \
                 takes the plugged one again; where the plug leaks, type {through} once more."
            );
            (Doubted::Figure(through), why)
        }
        _ => return None,
    };
    Some((Some(doubted), why))
}

/// Returns what the hose showed plugged, where a look at that was answered.
pub(super) fn plugged(question: &Question, answer: &Answer) -> Option<Pressure> {
    match answer {
        Answer::Quantity { entry, .. } if looks_at(question) == Some(Condition::Plugged) => {
            Pressure::from_si(entry.si)
        }
        _ => None,
    }
}

/// Returns whether a circuit read as the plugged hose did, as far as an eye tells that: within half a division.
pub(super) fn reads_as_plugged(question: &Question, answer: &Answer, bench: Option<&Bench>) -> bool {
    of_circuit(question, answer).zip(bench).is_some_and(|(entry, Bench { calibration, dial, .. })| {
        entry.si > calibration.plugged().si() - half_a_division(dial)
    })
}

/// What an eye may be off, in Pa, and a little more, so that half a division itself is within it.
fn half_a_division(dial: &Dial) -> f64 {
    0.501 * dial.smallest_division().si()
}

/// Returns what was read of a circuit.
fn of_circuit<'a>(question: &Question, answer: &'a Answer) -> Option<&'a Entry> {
    match (&question.wants, answer) {
        (Wants::Reading { on: HoseOn::Circuit { .. }, .. }, Answer::Quantity { entry, .. }) => Some(entry),
        _ => None,
    }
}

/// Which point of the rig a question looks at with no valve turned.
fn looks_at(question: &Question) -> Option<Condition> {
    match question.wants {
        Wants::Reading { on: HoseOn::Check(condition) | HoseOn::Rig(RigStep::Read(condition)), .. } => {
            Some(condition)
        }
        _ => None,
    }
}

/// Said behind the verdict on a circuit that read as the plugged hose did, once it is known that the
/// hose has left its plug.
pub(super) const AS_PLUGGED: &str =
    "As tight as the plug: where the hose was on that, the word again takes this reading anew.";

const DOUBTFUL: &str = "Hardly any shop has such air: a barometer in the room shows 20 to 31 inHg, and the vacuum on the gauge is \
                        not the barometer. Type it once more where it is right, or the elevation, as in 5280 ft.";

const OUT_OF_LIMITS: &str = "Out of its limits. Before it counts: touch the leads' tips together and take off what they show, scrape the \
                             contacts bare, let the coil come to the room's temperature, and type what it measures then.";

const NO_VACUUM: &str = "No vacuum at all: check that the pump runs, the inlet valve is open and the hose is on. Where all of that is \
                         so, the circuit is wide open, as without a check ball: type 0 once more.";

fn doubt_of_hose(point: Condition, there: &str, shown: &str) -> String {
    let (at, on, so) = match point {
        Condition::Through => ("Through the orifice", "the orifice", ""),
        _ => ("Plugged", "its plug", " and the circuit that tight"),
    };
    format!(
        "{at}, the hose showed {there}: is it on the port, or on {on} still? Where it is on the port{so}, type {shown} once more."
    )
}

fn doubt_of_vacuum(shown: Pressure, room: Pressure) -> String {
    let what = if shown < room { "nearly a perfect vacuum" } else { "a perfect vacuum" };
    let (shown, room) = (shown.in_unit(&UNITS[0]), room.in_unit(&UNITS[0]));
    format!(
        "At a barometer of {room}, {shown} is {what}, and hardly any pump pulls that. Look whether the gauge stands at 0 with the \
         hose open, and tap it. Where the barometer is another, go back to it; where the needle stands there, type {shown} once \
         more."
    )
}

fn doubt_of_barometer(barometer: &Barometer, elevation: Option<Length>) -> Option<String> {
    if barometer.is_doubtful() {
        return Some(DOUBTFUL.to_owned());
    }
    let elevation = elevation.filter(|elevation| barometer.contradicts(*elevation))?;
    Some(format!(
        "{} Type it once more where the barometer in the room shows it.",
        contradiction(barometer, elevation)
    ))
}

fn refusal_of_barometer(barometer: &Barometer, elevation: Length) -> String {
    format!(
        "{} No weather makes that of it. Where the shop lies at another elevation, park and say so first:\n\
         spoolproof rig set --elevation FEETft",
        contradiction(barometer, elevation)
    )
}

/// Says what a barometer shows at the shop's elevation, and what the other figure may be.
fn contradiction(barometer: &Barometer, elevation: Length) -> String {
    let at = tell::elevation(elevation);
    let about = screens::barometer_at(elevation).unwrap_or_default();
    let there = format!("At {at}, where rig set says that this shop lies, a barometer shows about {about}.");
    let BarometerSource::Station { pressure } = barometer.source() else { return there };
    let said = pressure.in_unit(&UNITS[0]);
    let report = BarometerSource::AltimeterSetting { setting: pressure, elevation };
    let slip = match Barometer::new(report) {
        Ok(_) => {
            format!("Is {said} a weather report's figure? Then type it with the elevation: {said} at {at}.")
        }
        Err(_) => format!("{said} is no weather report's figure either: is it what the vacuum gauge shows?"),
    };
    format!("{there} {slip}")
}
