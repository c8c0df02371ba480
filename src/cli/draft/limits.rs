use super::desk::{DraftDesk, Turn};
use crate::cli::quantities::vacuum;
use crate::draft::{DraftLimits, provenance, reading_list};
use crate::leak::{Baseline, Limits, Promise, leaks_for};
use crate::quantity::{Entry, Pressure, UNITS, Unit};
use crate::report::baseline_advice;
use crate::rig::STANDARD_THROUGH;
use crate::session::{Enter, Plain};

const TO_BE_FOUND: &str = "to be found";

/// Asks for the limits of a circuit, or for readings on good units to propose them from.
pub(super) fn limits(desk: &mut DraftDesk) -> Result<DraftLimits, Turn> {
    let question = Plain {
        words: "Holds at this standard reading and deeper",
        enter: Enter::Takes(TO_BE_FOUND),
        help: "The reading at which the circuit is sound, as in 20 or 67.5 kPa: what a rig set to 25 and 5 inHg through a \
               0.035 in hole shows at sea level. Type \"to be found\" where you don't know it: it is then read and \
               recorded, and not judged. Or type what three or more good units read, as in 22.5 21.8 22.1.",
    };
    match desk.ask_open("holds", question, limit_or_readings)? {
        None => proposed(desk),
        Some(TypedLimit::Limit(holds, unit)) => known(desk, holds, unit),
        Some(TypedLimit::Readings(readings)) => offered(desk, &readings),
    }
}

pub(super) fn told(limits: &DraftLimits) -> String {
    match limits {
        DraftLimits::ToBeFound { .. } => TO_BE_FOUND.to_owned(),
        DraftLimits::Known { limits, unit, .. } => {
            format!("{}, leaks at {}", limits.upper().in_unit(unit), limits.lower().in_unit(unit))
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
    let pressure = vacuum(text)?;
    Limits::new(pressure, pressure).map_err(|error| error.to_string())?;
    if pressure.si() < STANDARD_THROUGH.si() {
        return Err(format!(
            "the whole test orifice reads {STANDARD_THROUGH}, so that a circuit which still holds at {text} would leak \
             more; give a deeper reading, as in 20, and look at its unit"
        ));
    }
    let entry = Entry::parse(text, &UNITS[0]).map_err(|error| error.to_string())?;
    Ok((pressure, Unit::by_text(&entry.unit).unwrap_or(&UNITS[0])))
}

fn known(desk: &mut DraftDesk, holds: Pressure, unit: &'static Unit) -> Result<DraftLimits, Turn> {
    let rule = leaks_for(holds);
    let usual = rule.in_unit(unit);
    let words = format!("Leaks at this and less, in {}", unit.symbol);
    let question = Plain {
        words: &words,
        enter: Enter::Takes(&usual),
        help: "The reading at which the circuit is to be repaired; between the two it is worn. Enter alone takes a rule: \
               twice the leak that holds allows, and at least 3 inHg less.",
    };
    let leaks = desk.ask("leaks", question, |text| {
        // A bare number is in the unit that the first limit was typed in.
        let entry = Entry::parse(text, unit).map_err(|error| error.to_string())?;
        let leaks = entry.quantity().and_then(|quantity| Pressure::try_from(quantity).ok());
        let leaks = leaks.ok_or_else(|| format!("\"{text}\" is no vacuum"))?;
        if leaks >= holds {
            return Err(format!(
                "it holds from {} up, so it leaks at less than that: type less, as in {usual}, or \"back\" to change \
                 where it holds",
                holds.in_unit(unit)
            ));
        }
        Limits::new(holds, leaks).map_err(|error| error.to_string())
    })?;
    let limits = leaks.map_or_else(|| Limits::new(holds, rule), Ok);
    Ok(limits.map_or(DraftLimits::TO_BE_FOUND, |limits| DraftLimits::Known {
        limits,
        unit,
        note: Vec::new(),
    }))
}

/// Proposes limits from readings on good units, where there are some.
fn proposed(desk: &mut DraftDesk) -> Result<DraftLimits, Turn> {
    let question = Plain {
        words: "Readings on units you know are good, as in 22.5 21.8",
        enter: Enter::Takes("none"),
        help: "Standard readings, one of each unit, with blanks between; limits are proposed from them, and you are asked \
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
        false => DraftLimits::ToBeFound { proposed: Some(limits), note },
    })
}
