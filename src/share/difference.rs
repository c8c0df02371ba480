use super::change::Change;
use super::circuit_changes::{circuits, renamed};
use super::step_changes::{cautions, ranges, steps};
use crate::procedure::Outline;

/// Returns what is different in another version of a procedure; what matters most stands in front.
pub fn difference(before: &Outline, after: &Outline) -> Vec<Change> {
    let names = renamed(before, after);
    let mut changes = cautions(before, after);
    changes.extend(circuits(before, after, &names));
    changes.extend(ranges(before, after, &names));
    changes.extend(steps(before, after, &names));
    changes.extend(declarations(before, after));
    changes.sort_by_key(Change::weight);
    changes
}

fn declarations(before: &Outline, after: &Outline) -> Vec<Change> {
    let (old, new) = (&before.title, &after.title);
    let unit = |unit: &Option<String>| unit.clone().unwrap_or_default();
    let cost = |cost: Option<f64>| cost.map(|cost| cost.to_string()).unwrap_or_default();
    let oil = |outline: &Outline| {
        let oil = outline.title.oil.as_ref();
        oil.map(|oil| format!("{} at {}", oil.pressure(), oil.temperature())).unwrap_or_default()
    };
    [
        ("title", old.title.clone(), new.title.clone()),
        ("unit", unit(&old.unit), unit(&new.unit)),
        ("oil", oil(before), oil(after)),
        ("cost of a replacement", cost(old.replacement), cost(new.replacement)),
    ]
    .into_iter()
    .filter(|(_, from, to)| from != to)
    .map(|(what, from, to)| Change::Detail { circuit: None, what, from, to })
    .collect()
}
