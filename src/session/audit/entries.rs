//! What can be said of a journal without its procedure.

use super::fault::{RecordFault, RecordRemark};
use crate::quantity::{Unit, shown};
use crate::record::{Answer, Event, Wants, What, are_valid};

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
            Ok(None) => continue,
            Ok(Some(again)) if again == *answer => continue,
            Ok(Some(again)) => describe(&again),
            Err(refusal) => refusal.to_string(),
        };
        let circuit = question.circuit.clone();
        faults.push(RecordFault::Entered { n: event.n, circuit, entered: entered.to_owned(), found });
    }
}

/// Looks for times that run backwards. What an amendment takes over bears the times of its first answers.
pub(super) fn remarks(journal: &[Event]) -> Vec<RecordRemark> {
    let pairs = journal.windows(2).skip(usize::from(amends(journal)));
    let backwards = pairs.filter(|pair| pair[1].at < pair[0].at);
    backwards.map(|pair| RecordRemark::Backwards { n: pair[1].n }).collect()
}

/// Looks for cautions that were read after something that comes behind them, by the answers in the order in which the
/// procedure has them asked. What is asked anew since something has changed may well come late; what an amendment takes
/// over was looked at in the record before it.
pub(super) fn late_cautions(journal: &[Event], answered: &[u64], faults: &mut Vec<RecordFault>) {
    if amends(journal) {
        return;
    }
    let is_caution = |event: &&Event| matches!(&event.what, What::Answered { question, .. } if question.wants == Wants::Acknowledgement);
    let cautions: Vec<u64> = journal.iter().filter(is_caution).map(|event| event.n).collect();
    for (at, n) in answered.iter().enumerate().filter(|(_, n)| cautions.contains(n)) {
        let done = answered[at..].iter().copied().filter(|behind| behind < n).max();
        let before = journal.iter().take_while(|event| event.n < *n);
        if let Some(done) = done.filter(|done| *done > last_change(before)) {
            faults.push(RecordFault::Caution { n: *n, done });
        }
    }
}

fn amends(journal: &[Event]) -> bool {
    matches!(journal, [Event { what: What::Opened { opening }, .. }, ..] if opening.amends.is_some())
}

/// Returns the number of the last event that may let a question be asked otherwise which was answered before it; 0
/// where there is none.
pub(super) fn last_change<'a>(events: impl IntoIterator<Item = &'a Event>) -> u64 {
    let is_change = |what: &What| match what {
        What::Retracted { .. } | What::Drifted { .. } => true,
        What::Resumed { procedure, rig, .. } => procedure.is_some() || rig.is_some(),
        _ => false,
    };
    events.into_iter().filter(|event| is_change(&event.what)).map(|event| event.n).max().unwrap_or(0)
}

/// Returns whether a journal in which a walk found no fault keeps to the record schema; all else in a record follows
/// from it, and keeps to the schema as it does.
///
/// What the walk asked since anything had changed it asks in the same way, and the answers fit: so these events are as
/// the program writes them, and only the others are held to the schema. A test spoils every field of journals to see
/// that nothing passes which breaks it.
pub(crate) fn is_valid_journal(journal: &[Event]) -> bool {
    let mut walk = match journal.last().map(|event| &event.what) {
        Some(What::Finished { walk }) => walk.clone(),
        _ => Vec::new(),
    };
    walk.sort_unstable();
    let last_change = last_change(journal);
    let is_walked = |event: &Event| walk.binary_search(&event.n).is_ok();
    let others = journal.iter().filter(|event| event.n <= last_change || !is_walked(event));
    are_valid(&others.collect::<Vec<_>>())
}

/// Writes the value of an answer in SI, and as people read it.
fn describe(answer: &Answer) -> String {
    let read_as = |si: f64, unit: &Unit| unit.written(shown(unit.from_si(si), unit.decimals));
    match answer {
        Answer::Quantity { entry, .. } | Answer::AtStop(entry) => {
            format!("{} in SI units, which is {}", entry.si, read_as(entry.si, entry.unit))
        }
        Answer::Barometer { barometer, .. } => {
            let station = barometer.station();
            format!("{} Pa, which is {station}", station.si())
        }
        Answer::AirTemperature { air, .. } => {
            let temperature = air.temperature();
            format!("{} K, which is {temperature}", temperature.si())
        }
        _ => "no value".to_owned(),
    }
}
