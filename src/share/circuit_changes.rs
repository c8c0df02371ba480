use std::collections::BTreeMap;

use super::change::Change;
use crate::leak::Land;
use crate::procedure::Outline;
use crate::quantity::Pressure;
use crate::record::{Circuit, Repair};

/// Returns the new names of circuits that have another name and are otherwise where they were: on the same port with the
/// same set-up.
pub(super) fn renamed(before: &Outline, after: &Outline) -> BTreeMap<String, String> {
    let is_gone = |circuit: &&Circuit| named(after, &circuit.name).is_none();
    let is_new = |circuit: &&Circuit| named(before, &circuit.name).is_none();
    let mut names = BTreeMap::new();
    for old in before.circuits.iter().filter(is_gone).filter(|old| old.port.is_some()) {
        let mut same = after.circuits.iter().filter(is_new).filter(|new| is_same_place(old, new));
        if let (Some(new), None) = (same.next(), same.next())
            && !names.values().any(|taken| *taken == new.name)
        {
            names.insert(old.name.clone(), new.name.clone());
        }
    }
    names
}

fn is_same_place(old: &Circuit, new: &Circuit) -> bool {
    old.port == new.port && old.set_up == new.set_up
}

fn named<'a>(outline: &'a Outline, name: &str) -> Option<&'a Circuit> {
    outline.circuits.iter().find(|circuit| circuit.name == name)
}

/// Returns all that a circuit is described as, also where only some answers lead there.
fn described<'a>(outline: &'a Outline, name: &str) -> Vec<&'a Circuit> {
    outline.circuits.iter().chain(&outline.variants).filter(|circuit| circuit.name == name).collect()
}

/// Pairs the descriptions that only one of two versions has; where one has more, its last one goes with the rest.
fn others<'a>(old: Vec<&'a Circuit>, new: Vec<&'a Circuit>) -> Vec<(&'a Circuit, &'a Circuit)> {
    let same = |one: &Circuit, other: &Circuit| Circuit { name: other.name.clone(), ..one.clone() } == *other;
    let gone: Vec<_> = old.iter().filter(|old| !new.iter().any(|new| same(old, new))).copied().collect();
    let added: Vec<_> = new.iter().filter(|new| !old.iter().any(|old| same(old, new))).copied().collect();
    // What went away without another in its place is compared with what is still there, and the other way round.
    let n_pairs = gone.len().max(added.len());
    let (Some(last_old), Some(last_new)) = (gone.last().or(old.last()), added.last().or(new.last())) else {
        return Vec::new();
    };
    (0..n_pairs).map(|n| (*gone.get(n).unwrap_or(last_old), *added.get(n).unwrap_or(last_new))).collect()
}

/// Returns what is different about the circuits.
pub(super) fn circuits(before: &Outline, after: &Outline, names: &BTreeMap<String, String>) -> Vec<Change> {
    let mut changes = Vec::new();
    for old in &before.circuits {
        let name = names.get(&old.name).unwrap_or(&old.name);
        match named(after, name) {
            Some(new) => {
                if new.name != old.name {
                    changes.push(Change::CircuitRenamed { from: old.name.clone(), to: new.name.clone() });
                }
                for (old, new) in others(described(before, &old.name), described(after, name)) {
                    changes.extend(moved(old, new));
                    changes.extend(details(old, new));
                }
            }
            None => changes.push(Change::CircuitRemoved { circuit: old.name.clone() }),
        }
    }
    for new in &after.circuits {
        let is_known =
            named(before, &new.name).is_some() || names.values().any(|renamed| *renamed == new.name);
        if !is_known {
            changes.push(Change::CircuitAdded {
                circuit: new.name.clone(),
                holds_pa: holds(new),
                leaks_pa: leaks(new),
            });
        }
    }
    changes
}

fn holds(circuit: &Circuit) -> Option<Pressure> {
    circuit.limits.map(|limits| limits.holds())
}

fn leaks(circuit: &Circuit) -> Option<Pressure> {
    circuit.limits.map(|limits| limits.leaks())
}

fn moved(old: &Circuit, new: &Circuit) -> Vec<Change> {
    [("holds", holds(old), holds(new)), ("leaks", leaks(old), leaks(new))]
        .into_iter()
        .filter(|(_, from, to)| from != to)
        .map(|(limit, from_pa, to_pa)| Change::LimitMoved {
            circuit: new.name.clone(),
            limit,
            from_pa,
            to_pa,
        })
        .collect()
}

fn details(old: &Circuit, new: &Circuit) -> Vec<Change> {
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    [
        ("port", text(&old.port), text(&new.port)),
        ("meaning", text(&old.means), text(&new.means)),
        ("symptoms", old.symptoms.join(", "), new.symptoms.join(", ")),
        ("land", land(old.land.as_ref()), land(new.land.as_ref())),
        ("repairs", repairs(&old.repairs), repairs(&new.repairs)),
    ]
    .into_iter()
    .filter(|(_, from, to)| from != to)
    .map(|(what, from, to)| Change::Detail { circuit: Some(new.name.clone()), what, from, to })
    .collect()
}

fn land(land: Option<&Land>) -> String {
    let text = |land: &Land| {
        format!("{} bore, {} long, eccentricity {}", land.diameter(), land.length(), land.eccentricity())
    };
    land.map(text).unwrap_or_default()
}

fn repairs(repairs: &[Repair]) -> String {
    let text = |repair: &Repair| {
        let parts = repair.parts.map(|parts| format!(", parts {parts}")).unwrap_or_default();
        let hours = repair.hours.map(|hours| format!(", {hours} h")).unwrap_or_default();
        format!("{}{parts}{hours}", repair.does)
    };
    repairs.iter().map(text).collect::<Vec<_>>().join("; ")
}
