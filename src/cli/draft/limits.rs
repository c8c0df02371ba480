use std::cell::Cell;

use super::desk::{DraftDesk, Turn};
use crate::draft::{DraftLimits, NOT_KNOWN, provenance, reading_list};
use crate::leak::{Baseline, Limits, Promise, leaks_for};
use crate::quantity::{Entry, Pressure, UNITS, Unit};
use crate::report::baseline_advice;
use crate::rig::STANDARD_THROUGH;
use crate::session::{Enter, Plain};

const TO_BE_FOUND: &str = "to be found";

/// Asks for the limits of a circuit, or for readings on good units to propose them from.
pub(super) fn limits(desk: &mut DraftDesk) -> Result<DraftLimits, Turn> {
    let question = Plain {
        words: "Holds at this standard reading and higher",
        enter: Enter::Takes(TO_BE_FOUND),
        help: "The reading at which the circuit is sound, as in 20 or 67.5 kPa: what a rig set to 25 and 5 inHg through a \
               0.035 in hole shows at sea level. Type \"to be found\" where you don't know it: it is then read and \
               recorded, and not judged. Or type what three or more good units read, as in 22.5 21.8 22.1.",
    };
    match desk.ask_open("holds", question, limit_or_readings)? {
        None => proposed(desk),
        Some(TypedLimit::Limit(holds, unit)) => {
            let limits = leaking(desk, holds, unit)?;
            Ok(limits.map_or(DraftLimits::TO_BE_FOUND, |limits| known(limits, unit)))
        }
        Some(TypedLimit::Readings(readings)) => offered(desk, &readings),
    }
}

pub(super) fn told(limits: &DraftLimits) -> String {
    match limits {
        DraftLimits::ToBeFound { .. } => format!("limits {TO_BE_FOUND}"),
        DraftLimits::Known { limits, unit, .. } => {
            let [lower, upper] = [limits.lower(), limits.upper()].map(|limit| limit.in_unit(unit));
            match limits.is_window() {
                true => format!("right between {lower} and {upper}"),
                false => format!("holds {upper}, leaks at {lower}"),
            }
        }
    }
}

enum TypedLimit {
    Limit(Pressure, &'static Unit),
    Readings(Box<GoodUnits>),
}

/// What good units read, and what follows from it.
struct GoodUnits {
    readings: Vec<Pressure>,
    baseline: Baseline,
}

impl GoodUnits {
    fn of(readings: Vec<Pressure>) -> Result<GoodUnits, String> {
        let baseline = Baseline::of(&readings, Promise::USUAL).map_err(|error| error.to_string())?;
        Ok(GoodUnits { readings, baseline })
    }
}

/// Reads a limit, or what several good units read.
fn limit_or_readings(text: &str) -> Result<TypedLimit, String> {
    let why = match limit(text) {
        Ok((pressure, unit)) => return Ok(TypedLimit::Limit(pressure, unit)),
        Err(why) => why,
    };
    match reading_list(text, &UNITS[0]) {
        Ok(readings) if readings.len() > 2 => Ok(TypedLimit::Readings(Box::new(GoodUnits::of(readings)?))),
        Ok(readings) if readings.len() == 2 => {
            Err("one reading is wanted here, as in 20; where it leaks is asked next".to_owned())
        }
        _ => Err(why),
    }
}

/// Reads a limit, with the unit that it was typed in.
fn limit(text: &str) -> Result<(Pressure, &'static Unit), String> {
    let (pressure, unit) = standard_reading(text, &UNITS[0])?;
    if pressure.si() < STANDARD_THROUGH.si() {
        return Err(format!(
            "the whole test orifice reads {STANDARD_THROUGH}, so that a circuit which still holds at {text} would leak \
             more; give a higher reading, as in 20, and look at its unit"
        ));
    }
    Ok((pressure, unit))
}

/// Reads a standard reading, with its unit: this one where none is typed.
fn standard_reading(text: &str, unit: &'static Unit) -> Result<(Pressure, &'static Unit), String> {
    let entry = Entry::parse(text, unit).map_err(|error| error.to_string())?;
    let reading = entry.quantity().and_then(|quantity| Pressure::try_from(quantity).ok());
    let reading = reading.ok_or_else(|| format!("\"{text}\" is no vacuum"))?;
    Limits::new(reading, reading).map_err(|error| error.to_string())?;
    Ok((reading, entry.unit))
}

/// Asks where a circuit that holds at a reading leaks.
fn leaking(desk: &mut DraftDesk, holds: Pressure, unit: &'static Unit) -> Result<Option<Limits>, Turn> {
    let rule = leaks_for(holds);
    let usual = rule.in_unit(unit);
    let words = format!("Leaks at this and less, in {}", unit.symbol);
    let question = Plain {
        words: &words,
        enter: Enter::Takes(&usual),
        help: "The reading at which the circuit is to be repaired; between the two it is worn. Enter alone takes a rule: \
               twice the leak that holds allows, and at least 3 inHg less.",
    };
    let limits = desk.ask("leaks", question, |text| {
        // A bare number is in the unit that the first limit was typed in.
        let (leaks, _) = standard_reading(text, unit)?;
        if leaks >= holds {
            return Err(format!(
                "it holds from {} up, so it leaks at less than that: type less, as in {usual}, or \"back\" to change \
                 where it holds",
                holds.in_unit(unit)
            ));
        }
        Limits::new(holds, leaks).map_err(|error| error.to_string())
    })?;
    Ok(limits.or_else(|| Limits::new(holds, rule).ok()))
}

/// Asks for the limits of a second land, where they are others than the first one's.
pub(super) fn own_limits(desk: &mut DraftDesk) -> Result<Option<(Limits, &'static Unit)>, Turn> {
    let question = Plain {
        words: "It holds at this standard reading and higher",
        enter: Enter::Takes("as the first"),
        help: "The reading at which the second land is sound, as in 20 or 67.5 kPa. Type \"not known\" to judge it as the first.",
    };
    let Some((holds, unit)) = desk.ask_open("holds", question, limit)? else { return Ok(None) };
    Ok(leaking(desk, holds, unit)?.map(|limits| (limits, unit)))
}

/// Asks for the window of a passage that is to be open.
pub(super) fn window(desk: &mut DraftDesk) -> Result<DraftLimits, Turn> {
    // A bare number is in the unit that the one before was typed in.
    let unit = Cell::new(&UNITS[0]);
    let reading = |text: &str| {
        let (reading, typed) = standard_reading(text, unit.get())?;
        unit.set(typed);
        Ok(reading)
    };
    let words =
        ["Too open at this standard reading and less", "Too tight at this standard reading and higher"];
    let help = "The two readings between which the passage is right, as in 8 and 12: what a rig set to 25 and 5 inHg through a \
                0.035 in hole shows at sea level. Type \"not known\" where you don't know them: it is then read and recorded, \
                and not judged.";
    let limits = between(desk, words, help, reading)?.and_then(|(from, to)| Limits::window(from, to).ok());
    Ok(limits.map_or(DraftLimits::TO_BE_FOUND, |limits| known(limits, unit.get())))
}

/// Asks for the two ends of what is right, the lower one first.
pub(super) fn between<T: Copy + PartialOrd>(
    desk: &mut DraftDesk,
    words: [&str; 2],
    help: &str,
    read: impl Fn(&str) -> Result<T, String>,
) -> Result<Option<(T, T)>, Turn> {
    let question = Plain { words: words[0], enter: Enter::Takes(NOT_KNOWN), help };
    let Some(least) = desk.ask_open("least", question, &read)? else { return Ok(None) };
    let alone = "the first figure is of no use without it: type it, or \"not known\" to leave both out";
    let question = Plain { words: words[1], enter: Enter::Refused(alone), help };
    let most =
        desk.ask_open("most", question, |text| match read(text)? {
            most if most > least => Ok(most),
            _ => Err("that is not more than the first figure: type more, or \"back\" to change the first"
                .to_owned()),
        })?;
    Ok(most.map(|most| (least, most)))
}

fn known(limits: Limits, unit: &'static Unit) -> DraftLimits {
    DraftLimits::Known { limits, unit, note: Vec::new() }
}

/// Proposes limits from readings on good units, where there are some.
fn proposed(desk: &mut DraftDesk) -> Result<DraftLimits, Turn> {
    let question = Plain {
        words: "Standard readings of units you know are good, as in 22.5 21.8",
        enter: Enter::Takes("none"),
        help: "One of each unit, with blanks between: what a rig set to 25 and 5 inHg through a 0.035 in hole shows at sea level. \
               Where yours is set otherwise, spoolproof leak READING says the standard reading; so does each record. Limits are proposed from them, and you are asked \
               whether to take them. Two are the least, and 14 are enough for most.",
    };
    let typed = desk.ask("good units", question, |text| GoodUnits::of(reading_list(text, &UNITS[0])?))?;
    typed.map_or(Ok(DraftLimits::TO_BE_FOUND), |units| offered(desk, &units))
}

fn offered(desk: &mut DraftDesk, units: &GoodUnits) -> Result<DraftLimits, Turn> {
    let GoodUnits { readings, baseline } = units;
    for sentence in baseline_advice(baseline, &UNITS[0]) {
        desk.tell(sentence);
    }
    let note = provenance(baseline, readings);
    let Some(limits) = baseline.limits else { return Ok(DraftLimits::ToBeFound { proposed: None, note }) };
    let words = format!("Take holds {} and leaks {}", limits.upper(), limits.lower());
    // Few readings make limits so low that they would pass everything.
    let help = "Type yes to have these limits, or no to leave them to be found: they stand in the file then, with the \
                readings that they came of, for when you have read more good units.";
    let is_taken = desk.yes("take", &words, baseline.more() == 0, help)?;
    Ok(match is_taken {
        true => DraftLimits::Known { limits, unit: &UNITS[0], note },
        false => {
            desk.tell("They are not taken, and stand in the file as what was proposed.".to_owned());
            DraftLimits::ToBeFound { proposed: Some(limits), note }
        }
    })
}
