use super::reading_list::reading_list;
use crate::cli::asker::{Asker, Stopped};
use crate::cli::quantities::vacuum;
use crate::draft::DraftLimits;
use crate::leak::{Baseline, Limits, Promise, leaks_for};
use crate::quantity::{Entry, Pressure, UNITS, Unit};
use crate::report::baseline_advice;

const TO_BE_FOUND: &str = "to be found";

/// Asks for the limits of a circuit.
pub(super) fn limits(asker: &mut Asker<'_>, now: &DraftLimits) -> Result<DraftLimits, Stopped> {
    let stands = told(now);
    let answer = asker.ask("Holds at this standard reading and deeper, or ?", &stands, |text| {
        if text == "?" || text.eq_ignore_ascii_case(TO_BE_FOUND) { Ok(None) } else { limit(text).map(Some) }
    })?;
    match answer {
        None if *now != DraftLimits::ToBeFound => Ok(now.clone()),
        None | Some(None) => proposed(asker),
        Some(Some((holds, unit))) => known(asker, holds, unit),
    }
}

/// Says what limits there are.
pub(super) fn told(limits: &DraftLimits) -> String {
    match limits {
        DraftLimits::ToBeFound => TO_BE_FOUND.to_owned(),
        DraftLimits::Known(limits, unit) => {
            format!("{}, leaks at {}", limits.holds().in_unit(unit), limits.leaks().in_unit(unit))
        }
        DraftLimits::Proposed(limits, _) => format!("{}, leaks at {}", limits.holds(), limits.leaks()),
    }
}

/// Reads a limit, with the unit that it was typed in.
fn limit(text: &str) -> Result<(Pressure, &'static Unit), String> {
    let pressure = vacuum(text)?;
    Limits::new(pressure, pressure).map_err(|error| error.to_string())?;
    let entry = Entry::parse(text, &UNITS[0]).map_err(|error| error.to_string())?;
    Ok((pressure, Unit::by_text(&entry.unit).unwrap_or(&UNITS[0])))
}

fn known(asker: &mut Asker<'_>, holds: Pressure, unit: &'static Unit) -> Result<DraftLimits, Stopped> {
    let rule = leaks_for(holds);
    let words = "Leaks at this and less (in brackets: twice the leak)";
    let leaks = asker.ask(words, &rule.in_unit(unit), |text| {
        let (leaks, _) = limit(text)?;
        Limits::new(holds, leaks).map_err(|error| error.to_string()).map(|_| leaks)
    })?;
    Ok(match Limits::new(holds, leaks.unwrap_or(rule)) {
        Ok(limits) => DraftLimits::Known(limits, unit),
        Err(_) => DraftLimits::ToBeFound,
    })
}

/// Proposes limits from readings on good units, where there are some.
fn proposed(asker: &mut Asker<'_>) -> Result<DraftLimits, Stopped> {
    let words = "Readings on units you know are good, as in 22.5 21.8";
    let baseline = asker.ask(words, "none", |text| {
        let readings = reading_list(text, &UNITS[0])?;
        Baseline::of(&readings, Promise::USUAL).map_err(|error| error.to_string())
    })?;
    let Some(baseline) = baseline else { return Ok(DraftLimits::ToBeFound) };
    for sentence in baseline_advice(&baseline, &UNITS[0]) {
        asker.screen.paragraph(2, &sentence);
    }
    let Some(limits) = baseline.limits else { return Ok(DraftLimits::ToBeFound) };
    let words = format!("Take holds {} and leaks {}", limits.holds(), limits.leaks());
    // Few readings make limits so low that they would pass everything.
    let is_taken = asker.yes(&words, baseline.more() == 0)?;
    Ok(if is_taken { DraftLimits::Proposed(limits, baseline) } else { DraftLimits::ToBeFound })
}
