use std::collections::{BTreeMap, HashSet};

use super::change::Change;
use crate::procedure::{Measurement, Outline, OutlineStep, StepKind};

/// Two texts are one in other words where they have at least this much in common, 1 being all.
const SAME_THING: f64 = 0.55;
/// The most pairs of texts that are compared.
const MOST_COMPARISONS: usize = 40_000;

/// Returns the cautions that are gone, reworded or new.
pub(super) fn cautions(before: &Outline, after: &Outline) -> Vec<Change> {
    let gone: Vec<_> = before.cautions.iter().filter(|words| !after.cautions.contains(words)).collect();
    let new: Vec<_> = after.cautions.iter().filter(|words| !before.cautions.contains(words)).collect();
    let Paired { pairs, gone, new } = paired(&gone, &new);
    let reworded = pairs.into_iter().map(|(from, to)| Change::CautionReworded { from, to });
    let dropped = gone.into_iter().map(|words| Change::CautionDropped { words });
    let added = new.into_iter().map(|words| Change::CautionAdded { words });
    reworded.chain(dropped).chain(added).collect()
}

/// Returns the steps that are gone, reworded or new in the circuits that both versions have, and outside of circuits.
pub(super) fn steps(before: &Outline, after: &Outline, names: &BTreeMap<String, String>) -> Vec<Change> {
    let new_name = |step: &OutlineStep| {
        let name = step.circuit.as_ref()?;
        Some(names.get(name).unwrap_or(name).clone())
    };
    let same_name = |step: &OutlineStep| step.circuit.clone();
    let mut places: Vec<Option<String>> = vec![None];
    for circuit in &after.circuits {
        let is_in_both =
            before.circuits.iter().any(|old| names.get(&old.name).unwrap_or(&old.name) == &circuit.name);
        places.extend(is_in_both.then(|| Some(circuit.name.clone())));
    }
    let mut changes = Vec::new();
    for place in places {
        let old = words(&before.steps, &place, new_name);
        let new = words(&after.steps, &place, same_name);
        let (in_old, in_new): (HashSet<_>, HashSet<_>) = (old.iter().collect(), new.iter().collect());
        let gone: Vec<_> = old.iter().filter(|words| !in_new.contains(words)).collect();
        let added: Vec<_> = new.iter().filter(|words| !in_old.contains(words)).collect();
        let Paired { pairs, gone, new } = paired(&gone, &added);
        let circuit = || place.clone();
        changes.extend(pairs.into_iter().map(|(from, to)| Change::StepReworded {
            circuit: circuit(),
            from,
            to,
        }));
        changes.extend(gone.into_iter().map(|words| Change::StepRemoved { circuit: circuit(), words }));
        changes.extend(new.into_iter().map(|words| Change::StepAdded { circuit: circuit(), words }));
    }
    changes
}

/// Returns where the limits of measured values lie elsewhere.
pub(super) fn ranges(before: &Outline, after: &Outline, names: &BTreeMap<String, String>) -> Vec<Change> {
    let mut changes = Vec::new();
    let new_name =
        |circuit: &Option<String>| circuit.as_ref().map(|name| names.get(name).unwrap_or(name).clone());
    for new in &after.measurements {
        let is_same = |old: &&Measurement| new_name(&old.circuit) == new.circuit && old.words == new.words;
        let olds: Vec<_> = before.measurements.iter().filter(is_same).collect();
        if let Some(old) = olds.first()
            && olds.iter().all(|old| old.within != new.within)
        {
            changes.push(Change::RangeMoved {
                circuit: new.circuit.clone(),
                question: new.words.clone(),
                from: old.within.clone(),
                to: new.within.clone(),
            });
        }
    }
    changes
}

/// Returns the words of the steps at a place; cautions are told apart.
fn words(
    steps: &[OutlineStep],
    place: &Option<String>,
    circuit: impl Fn(&OutlineStep) -> Option<String>,
) -> Vec<String> {
    steps
        .iter()
        .filter(|step| step.kind != StepKind::Caution && circuit(step) == *place)
        .map(|step| step.words.clone())
        .collect()
}

/// Texts that are in one version only: those that say the same in other words in pairs, and the rest of each side.
struct Paired {
    pairs: Vec<(String, String)>,
    gone: Vec<String>,
    new: Vec<String>,
}

/// Pairs texts that say the same in other words, the likest first.
fn paired(gone: &[&String], new: &[&String]) -> Paired {
    let (old_words, new_words): (Vec<_>, Vec<_>) =
        (gone.iter().map(|text| words_of(text)).collect(), new.iter().map(|text| words_of(text)).collect());
    let mut likeness = Vec::new();
    // Where everything is different, nobody asks which was which.
    if gone.len() * new.len() <= MOST_COMPARISONS {
        for (i, old) in old_words.iter().enumerate() {
            let of = |(j, new): (usize, &Vec<String>)| (likeness_of(old, new), i, j);
            likeness.extend(new_words.iter().enumerate().map(of).filter(|found| found.0 >= SAME_THING));
        }
    }
    likeness.sort_by(|a, b| b.0.total_cmp(&a.0));
    let (mut is_paired, mut is_used) = (vec![false; gone.len()], vec![false; new.len()]);
    let mut pairs = Vec::new();
    for (_, i, j) in likeness {
        if !is_paired[i] && !is_used[j] {
            (is_paired[i], is_used[j]) = (true, true);
            pairs.push((i, j));
        }
    }
    pairs.sort_unstable();
    let left = |texts: &[&String], is_taken: &[bool]| -> Vec<String> {
        texts.iter().zip(is_taken).filter(|(_, taken)| !**taken).map(|(text, _)| (*text).clone()).collect()
    };
    Paired {
        pairs: pairs.into_iter().map(|(i, j)| (gone[i].clone(), new[j].clone())).collect(),
        gone: left(gone, &is_paired),
        new: left(new, &is_used),
    }
}

fn words_of(text: &str) -> Vec<String> {
    let folded = text.to_lowercase();
    let words = folded.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    let mut words: Vec<_> = words.map(str::to_owned).collect();
    words.sort_unstable();
    words
}

/// Returns the share of words that two texts have in common, by Sørensen and Dice; the words are in order.
fn likeness_of(one: &[String], other: &[String]) -> f64 {
    let (mut i, mut j, mut n_common) = (0, 0, 0_usize);
    while let (Some(a), Some(b)) = (one.get(i), other.get(j)) {
        match a.cmp(b) {
            std::cmp::Ordering::Less => i += 1,
            std::cmp::Ordering::Greater => j += 1,
            std::cmp::Ordering::Equal => (i, j, n_common) = (i + 1, j + 1, n_common + 1),
        }
    }
    2.0 * n_common as f64 / (one.len() + other.len()).max(1) as f64
}
