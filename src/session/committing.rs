use crate::practice::{CAUSE, EVERYWHERE, PLACE, REPAIR, SURE, SURENESS, VERDICT, repairs};
use crate::procedure::{Halt, Walk};
use crate::record::{Answer, Cause, Circuit, Wants};

/// Asks a student, at the end of a circuit's test, what they make of it, before anything is said of the readings.
///
/// One without limits is not judged, and nothing is asked about it.
pub(super) fn commit(walk: &mut Walk, circuit: &Circuit, labels: &[String]) -> Result<(), Halt> {
    let Some(limits) = circuit.limits else { return Ok(()) };
    let verdicts = limits.verdicts();
    let words = verdicts.iter().rev().map(|verdict| verdict.word().to_owned());
    let verdict = choose(walk, VERDICT, words)?;
    choose(walk, SURE, SURENESS.iter().map(|(words, _)| (*words).to_owned()))?;
    let is_sound = verdicts.iter().any(|known| known.is_sound() && Some(known.word()) == verdict.as_deref());
    if is_sound || verdict.is_none() {
        return Ok(());
    }
    choose(walk, CAUSE, Cause::OF_CIRCUITS.iter().map(|cause| cause.words().to_owned()))?;
    if labels.len() > 1 {
        choose(walk, PLACE, labels.iter().cloned().chain([EVERYWHERE.to_owned()]))?;
    }
    choose(walk, REPAIR, repairs(circuit).into_iter())?;
    Ok(())
}

fn choose(
    walk: &mut Walk,
    words: &str,
    options: impl Iterator<Item = String>,
) -> Result<Option<String>, Halt> {
    match walk.ask_for_runner(words, Wants::Choice { options: options.collect() })? {
        Answer::Choice(chosen) => Ok(Some(chosen)),
        _ => Ok(None),
    }
}
