//! What can be said of a journal without its procedure.

use super::fault::{RecordFault, RecordRemark};
use crate::record::{Answer, Event, What};

/// Checks the numbers of the events, and that what was typed gives the values that are stated.
pub(super) fn entries(journal: &[Event], faults: &mut Vec<RecordFault>) {
    for (index, event) in journal.iter().enumerate() {
        if event.n != index as u64 + 1 {
            faults.push(RecordFault::Order { place: index + 1, n: event.n });
        }
        let What::Answered { question, answer } = &event.what else { continue };
        let entered = match answer {
            Answer::Quantity { entry, .. } | Answer::AtStop(entry) => entry.entered.as_str(),
            Answer::Barometer { entered, .. } => entered,
            Answer::AirTemperature { entered, .. } => entered.as_deref().unwrap_or_default(),
            _ => continue,
        };
        let found = match question.read_again(answer) {
            Ok(again) if *again == *answer => continue,
            Ok(again) => describe(&again),
            Err(refusal) => refusal.to_string(),
        };
        faults.push(RecordFault::Entered { n: event.n, entered: entered.to_owned(), found });
    }
}

/// Looks for times that run backwards. What an amendment takes over bears the times of its first answers.
pub(super) fn remarks(journal: &[Event]) -> Vec<RecordRemark> {
    let amends =
        matches!(journal, [Event { what: What::Opened { opening }, .. }, ..] if opening.amends.is_some());
    let pairs = journal.windows(2).skip(usize::from(amends));
    let backwards = pairs.filter(|pair| pair[1].at < pair[0].at);
    backwards.map(|pair| RecordRemark::Backwards { n: pair[1].n }).collect()
}

/// Returns whether an event may let a question be asked otherwise that was answered before it.
pub(super) fn is_change(what: &What) -> bool {
    match what {
        What::Retracted { .. } | What::Drifted { .. } => true,
        What::Resumed { procedure, rig, .. } => procedure.is_some() || rig.is_some(),
        _ => false,
    }
}

/// Writes the value of an answer in SI.
fn describe(answer: &Answer) -> String {
    match answer {
        Answer::Quantity { entry, .. } | Answer::AtStop(entry) => {
            format!("{} in SI units, taken in {}", entry.si, entry.unit)
        }
        Answer::Barometer { barometer, .. } => format!("{} Pa", barometer.station().si()),
        Answer::AirTemperature { air, .. } => format!("{} K", air.temperature().si()),
        _ => "no value".to_owned(),
    }
}
