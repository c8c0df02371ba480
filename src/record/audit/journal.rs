use std::collections::HashSet;

use super::Fault;
use crate::record::{Answer, Event, ReadingRecord, Record, Step, What};

/// Checks the journal itself: the numbers of its events, that nothing rests on an answer that was taken back, and that
/// what was typed gives the values that are stated.
pub(super) fn entries(journal: &[Event], faults: &mut Vec<Fault>) {
    let mut retracted = HashSet::new();
    for (index, event) in journal.iter().enumerate() {
        if event.n != index as u64 + 1 {
            faults.push(Fault::Order { place: index + 1, n: event.n });
        }
        match &event.what {
            What::Retracted { answers } => retracted.extend(answers.iter().copied()),
            What::Answered { question, answer } => {
                let entered = match answer {
                    Answer::Quantity { entry, .. } => entry.entered.clone(),
                    Answer::AtStop { entry } => format!("{} stop", entry.entered),
                    Answer::Barometer { entered, .. } => entered.clone(),
                    _ => continue,
                };
                let found = match question.read(&entered) {
                    Ok(again) if is_same_value(&again, answer) => continue,
                    Ok(again) => describe(&again),
                    Err(refusal) => refusal.to_string(),
                };
                faults.push(Fault::Entered { n: event.n, entered, found });
            }
            What::Finished { walk } => {
                let resting = walk.iter().filter_map(|step| match step {
                    Step::Asked { n } if retracted.contains(n) => Some(*n),
                    _ => None,
                });
                faults.extend(resting.map(|n| Fault::Retracted { n }));
            }
            _ => {}
        }
    }
}

/// Looks for circuits whose readings no good check of the rig follows.
pub(super) fn uncovered(record: &Record, faults: &mut Vec<Fault>) {
    let is_covered = |reading: &ReadingRecord| {
        let check = reading.check.and_then(|check| record.checks.get(check.checked_sub(1)?));
        check.is_some_and(|check| check.is_good)
    };
    let uncovered = record.circuits.iter().filter(|circuit| !circuit.readings.iter().all(is_covered));
    faults.extend(uncovered.map(|circuit| Fault::Uncovered { circuit: circuit.circuit.name.clone() }));
}

/// Whether both answers have one value; what a gauge sent beside it cannot be typed again.
fn is_same_value(one: &Answer, other: &Answer) -> bool {
    match (one, other) {
        (Answer::Quantity { entry: one, .. }, Answer::Quantity { entry: other, .. }) => one == other,
        _ => one == other,
    }
}

/// Writes the value of an answer in SI.
fn describe(answer: &Answer) -> String {
    match answer {
        Answer::Quantity { entry, .. } | Answer::AtStop { entry } => {
            format!("{} in SI units ({})", entry.si, entry.dimension)
        }
        Answer::Barometer { barometer, .. } => format!("{} Pa", barometer.station().si()),
        _ => "no value".to_owned(),
    }
}
