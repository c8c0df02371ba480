use super::Workbench;
use super::commitment::{Commitment, right_repair};
use super::unit::TestUnit;
use crate::quantity::{UNITS, shown};
use crate::record::{
    Cause, Circuit, CircuitRecord, Defect, LEAVE_IT, Opening, REPLACE, ReadingRecord, Record, Repair,
};
use crate::tell;

/// Tells a student about each circuit and about the rig, once all is committed: the truth beside the answer, what the
/// reading meant, what would have told it, and what a mistake would have cost. Each paragraph has a heading.
pub(crate) fn debrief(record: &Record) -> Vec<(String, Vec<String>)> {
    let Some(opening) = record.opening() else { return Vec::new() };
    let Some(exercise) = opening.exercise.as_deref() else { return Vec::new() };
    let circuits: Vec<Circuit> = record.circuits.iter().map(|known| (*known.circuit).clone()).collect();
    let bench = Workbench::new(exercise, &circuits).after(&record.journal);
    let commitments = Commitment::all(record.answers_in_order());
    let mut told = Vec::new();
    for known in &record.circuits {
        let said = commitments.iter().find(|said| said.circuit == known.circuit.name);
        let defect = bench.unit().defect(&known.circuit.name);
        let is_planned = opening.plan.as_ref().is_none_or(|plan| plan.includes(&known.circuit.name));
        if said.is_some() || defect.is_some() && is_planned {
            let lines = about(known, bench.unit(), said, opening);
            told.push((known.circuit.name.clone(), lines));
        } else if defect.is_some() {
            let lines = vec![format!("You did not test it. {}", truth(&known.circuit, bench.unit()))];
            told.push((known.circuit.name.clone(), lines));
        }
    }
    for defect in exercise.defects.iter().filter(|defect| !defect.cause.is_of_circuit()) {
        let place = defect.circuit.clone().unwrap_or_else(|| "the rig".to_owned());
        let line = format!("{}. {}", capital(defect.cause.words()), tells(defect));
        match told.iter_mut().find(|(heading, _)| *heading == place) {
            Some((_, lines)) => lines.push(line),
            None => told.push((place, vec![line])),
        }
    }
    let minutes = shown(bench.seconds / 60.0, 1);
    told.push(("time".to_owned(), vec![format!("By the bench's clock your hands took {minutes} minutes.")]));
    told
}

fn about(
    known: &CircuitRecord,
    unit: &TestUnit,
    said: Option<&Commitment>,
    opening: &Opening,
) -> Vec<String> {
    let circuit = &known.circuit;
    let answer =
        said.map_or("You committed to nothing here.".to_owned(), |said| format!("You {}.", said.told()));
    let mut lines = vec![format!("{answer} {}", truth(circuit, unit)), meant(known, unit)];
    let defect = unit.defect(&circuit.name);
    if let Some(defect) = defect {
        lines.push(tells(defect));
    }
    let is_complained_of = opening.exercise.as_ref().is_some_and(|exercise| exercise.complaint.is_some());
    lines.extend(cost(circuit, defect, said, &opening.prices.repairs_of(circuit), is_complained_of));
    lines.retain(|line| !line.is_empty());
    lines
}

fn truth(circuit: &Circuit, unit: &TestUnit) -> String {
    let truth = unit.truth(circuit);
    match truth.defect {
        Some(defect) => {
            let place = defect.reading.as_ref().map(|place| format!(" ({place})")).unwrap_or_default();
            format!(
                "True: {}, {}{place}. Put right by: {}.",
                truth.verdict,
                defect.cause.words(),
                right_repair(defect.cause, circuit)
            )
        }
        None => format!("True: {}, nothing is wrong with it.", truth.verdict),
    }
}

/// Says what the readings come to, and what the standard rig would have shown.
fn meant(known: &CircuitRecord, unit: &TestUnit) -> String {
    let inch = &UNITS[0];
    let truly = unit.standard_reading(&known.circuit.name);
    let truly = truly.map(|reading| format!("{} {}", shown(inch.from_si(reading.si()), 1), inch.symbol));
    let standard = |reading: &ReadingRecord| Some(reading.meaning.as_ref()?.standard_reading_pa.value);
    let worst = known.counting().filter_map(standard).reduce(f64::min);
    let (Some(worst), Some(verdict), Some(truly)) = (worst, known.verdict, truly) else {
        return String::new();
    };
    let word = tell::verdict_word(Some(verdict));
    let read = format!("{} {}", shown(inch.from_si(worst), 1), inch.symbol);
    format!(
        "Your lowest reading would be {read} on the standard rig at sea level, which says {word}; of this circuit it is truly {truly}."
    )
}

fn tells(defect: &Defect) -> String {
    let tells = match defect.cause {
        Cause::WornLand => {
            "Only the vacuum tells: wipe, seat, wait until the needle stands, and look for a nick before you call it worn."
        }
        Cause::Nick => "inspect would have shown the nick; a flat stone takes it off, and no valve helps.",
        Cause::CrossLeak => {
            "With the pad on the neighbour's port (block) it holds: so the air crosses from there, and not from outside."
        }
        Cause::StuckValve => {
            "inspect would have shown that the valve hangs. A valve that hangs is not worn: clean it."
        }
        Cause::MissingBall => "The needle hardly rises, and inspect shows the empty pocket.",
        Cause::Metering => "The window has two sides: a passage is wrong too open and too tight.",
        Cause::BadSeat => {
            "Seated without a wipe it lies badly; wiped and seated again, the needle goes deeper: then it was the plate, and not the circuit."
        }
        Cause::WrongOrifice => {
            "No reading tells it: inspect, with the hose on the orifice, shows its stamp; swap takes the right one."
        }
        Cause::Drift => "A look at plug and orifice tells: what was read before it is read again.",
    };
    capital(tells)
}

/// Says what a mistake about a circuit would have cost, as far as the procedure has figures.
fn cost(
    circuit: &Circuit,
    defect: Option<&Defect>,
    said: Option<&Commitment>,
    own: &[Repair],
    is_complained_of: bool,
) -> Option<String> {
    let priced = |does: &str| {
        let repair = own.iter().find(|repair| repair.does == does)?;
        let part = repair.parts.map(|parts| format!("parts for {}", shown(parts, 2)));
        let hours = repair.hours.map(|hours| format!("{} h of work", shown(hours, 1)));
        let both: Vec<_> = part.into_iter().chain(hours).collect();
        (!both.is_empty()).then(|| both.join(" and "))
    };
    let chosen = said.and_then(|said| said.repair.as_deref()).filter(|repair| *repair != LEAVE_IT);
    match (defect, said) {
        (None, Some(said)) if !said.is_sound() => {
            let cost = chosen.and_then(priced).unwrap_or_else(|| "work".to_owned());
            let still = if is_complained_of { ", and whatever was wrong is still in the car" } else { "" };
            Some(format!("{} for nothing{still}.", capital(&cost)))
        }
        (Some(defect), said) if said.is_none_or(Commitment::is_sound) => {
            let right = right_repair(defect.cause, circuit);
            let cost = priced(&right).map(|cost| format!(" for {cost}")).unwrap_or_default();
            let means = circuit.means.as_deref().unwrap_or("The fault stays.");
            Some(format!("{means} The car comes back, the body comes out again, and then: {right}{cost}."))
        }
        (Some(defect), _) => {
            let right = right_repair(defect.cause, circuit);
            let wrong =
                chosen.filter(|chosen| !super::commitment::is_right(chosen, defect.cause, circuit))?;
            let cost = priced(wrong).map(|cost| format!(" ({cost})")).unwrap_or_default();
            Some(match wrong {
                REPLACE => {
                    format!("To {REPLACE} is rid of it, and of all that is sound in it; {right} is enough.")
                }
                _ => format!("\"{wrong}\"{cost} does not help; {right} does."),
            })
        }
        (None, _) => None,
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}
