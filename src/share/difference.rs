use std::collections::BTreeMap;

use serde::Serialize;

use crate::leak::{Land, LeakKind, Limits, Seal};
use crate::procedure::{LabelledReading, Measurement, Outline, Program};
use crate::quantity::{Pressure, UNITS};
use crate::record::{Circuit, PictureDigest, Pixel, PortMap, Repair, Spot};
use crate::tell;

/// One thing that is different in another version of a procedure, as a mechanic would say it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(crate) struct VersionChange {
    /// What kind of change it is, as `limit_moved`.
    change: &'static str,
    /// The circuit, with a colon and a label behind it where one reading of it is meant; none where it is of
    /// the whole procedure.
    circuit: Option<String>,
    /// Whether it can hurt somebody, or decides otherwise than before.
    pub(crate) is_grave: bool,
    pub(crate) text: String,
}

impl VersionChange {
    fn new(change: &'static str, circuit: Option<&str>, text: String) -> VersionChange {
        VersionChange { change, circuit: circuit.map(str::to_owned), is_grave: false, text }
    }

    fn grave(self) -> VersionChange {
        VersionChange { is_grave: true, ..self }
    }
}

/// Returns what is different in another version of a procedure; what matters most stands in front.
pub(crate) fn difference(before: &Outline, after: &Outline) -> Vec<VersionChange> {
    let names = renamed(before, after);
    let pairs = pairs(before, after, &names);
    let readings = readings(before, after, &names);
    let only_in = |one: &Outline, other: &Outline| {
        one.cautions.iter().filter(|words| !other.cautions.contains(words)).cloned().collect::<Vec<_>>()
    };
    let dropped = only_in(before, after).into_iter().map(|words| {
        VersionChange::new("caution_dropped", None, format!("caution dropped: {words}")).grave()
    });
    let added = only_in(after, before)
        .into_iter()
        .map(|words| VersionChange::new("caution_added", None, format!("caution added: {words}")));
    let is_gone = |old: &&Circuit| named(after, &old.name).is_none() && !names.contains_key(&old.name);
    let is_new = |new: &&Circuit| {
        named(before, &new.name).is_none() && !names.values().any(|renamed| *renamed == new.name)
    };
    let of = |change, circuit: &String, text| VersionChange::new(change, Some(circuit), text);
    let gone = before.circuits.iter().filter(is_gone);
    let gone = gone.map(|old| of("circuit_removed", &old.name, format!("circuit removed: {}", old.name)));
    let new = after.circuits.iter().filter(is_new).map(|new| {
        let limits = match &new.limits {
            Some(limits) => format!(". {}", tell::limits(limits, &UNITS[0])),
            None => " (limits to be found)".to_owned(),
        };
        of("circuit_added", &new.name, format!("circuit added: {}{limits}", new.name))
    });
    let renamed = names.iter();
    let renamed =
        renamed.map(|(from, to)| of("circuit_renamed", to, format!("circuit renamed: {from} is {to} now")));
    dropped
        .chain(pairs.iter().flat_map(|(old, new)| moved(&new.name, old.limits, new.limits)))
        .chain(readings.iter().flat_map(|(place, old, new)| moved(place, old.limits, new.limits)))
        .chain(ranges(before, after, &names))
        .chain(gone)
        .chain(new)
        .chain(renamed)
        .chain(added)
        .chain(pairs.iter().flat_map(|(old, new)| details(old, new)))
        .chain(readings.iter().flat_map(|(place, old, new)| spots(place, old, new)))
        .chain(declarations(before, after))
        .collect()
}

/// Returns the new names of circuits that have another name and are otherwise where they were: on the same port
/// with the same set-up.
fn renamed(before: &Outline, after: &Outline) -> BTreeMap<String, String> {
    let is_gone = |circuit: &&Circuit| named(after, &circuit.name).is_none();
    let is_new = |circuit: &&Circuit| named(before, &circuit.name).is_none();
    let is_same_place = |old: &Circuit, new: &Circuit| old.port == new.port && old.set_up == new.set_up;
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

fn named<'a>(outline: &'a Outline, name: &str) -> Option<&'a Circuit> {
    outline.circuits.iter().find(|circuit| circuit.name == name)
}

/// Returns the descriptions that are to be compared, of the circuits that both versions have.
fn pairs<'a>(
    before: &'a Outline,
    after: &'a Outline,
    names: &BTreeMap<String, String>,
) -> Vec<(&'a Circuit, &'a Circuit)> {
    let new_name = |old: &'a Circuit| names.get(&old.name).unwrap_or(&old.name);
    let both = before.circuits.iter().filter(|old| named(after, new_name(old)).is_some());
    both.flat_map(|old| others(described(before, &old.name), described(after, new_name(old)))).collect()
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

/// Returns the readings that have something to themselves in either version, with their circuit's new name.
fn readings<'a>(
    before: &'a Outline,
    after: &'a Outline,
    names: &BTreeMap<String, String>,
) -> Vec<(String, &'a Spot, &'a Spot)> {
    let both = before.readings.iter().filter_map(|old| {
        let circuit = names.get(&old.circuit).unwrap_or(&old.circuit);
        let is_same = |new: &&LabelledReading| new.circuit == *circuit && new.label == old.label;
        let new = after.readings.iter().find(is_same)?;
        let place = format!("{circuit}: {}", old.label);
        (old.is_apart || new.is_apart).then_some((place, &old.spot, &new.spot))
    });
    both.collect()
}

const HOLDS: &str = "holds";
const TOO_TIGHT: &str = "is too tight";

/// Returns what other limits of a circuit, or of one reading of it, mean.
fn moved(circuit: &str, old: Option<Limits>, new: Option<Limits>) -> Vec<VersionChange> {
    if let (Some(from), Some(to)) = (old, new)
        && from.is_window() != to.is_window()
    {
        let [from, to] = [from, to].map(|limits| tell::limits(&limits, &UNITS[0]));
        let text = format!("judged otherwise: {circuit}. {from}; now: {to}");
        return vec![VersionChange::new("judged_otherwise", Some(circuit), text).grave()];
    }
    let is_window = old.or(new).is_some_and(|limits| limits.is_window());
    let [upper, lower] = if is_window { [TOO_TIGHT, "is too open"] } else { [HOLDS, "leaks"] };
    let of = |end: fn(&Limits) -> Pressure| (old.as_ref().map(end), new.as_ref().map(end));
    let told = |(limit, (from, to)): (&str, (Option<Pressure>, Option<Pressure>))| match (from, to) {
        (Some(from), Some(to)) => {
            let so = match (limit, to > from) {
                (HOLDS, true) => "so less of it passes as sound",
                (HOLDS, false) => "so more of it passes as sound",
                (TOO_TIGHT, false) | (_, true) => "so more of it is condemned",
                _ => "so less of it is condemned",
            };
            format!("limit moved: {circuit} {limit} from {from} to {to}, {so}")
        }
        (None, Some(to)) => format!("limit found: {circuit} {limit} at {to}, so it is judged now"),
        _ => format!("limit dropped: {circuit} {limit}, so it is judged no longer"),
    };
    let moved = [(upper, of(Limits::upper)), (lower, of(Limits::lower))];
    let moved = moved.into_iter().filter(|(_, (from, to))| from != to);
    moved.map(|moved| VersionChange::new("limit_moved", Some(circuit), told(moved)).grave()).collect()
}

/// Returns where the limits of measured values lie elsewhere.
fn ranges(before: &Outline, after: &Outline, names: &BTreeMap<String, String>) -> Vec<VersionChange> {
    let mut changes = Vec::new();
    let new_name =
        |circuit: &Option<String>| circuit.as_ref().map(|name| names.get(name).unwrap_or(name).clone());
    for new in &after.measurements {
        let is_same = |old: &&Measurement| new_name(&old.circuit) == new.circuit && old.words == new.words;
        let olds: Vec<_> = before.measurements.iter().filter(is_same).collect();
        if let Some(old) = olds.first()
            && olds.iter().all(|old| old.within != new.within)
        {
            let of = new.circuit.as_ref().map(|circuit| format!(" of {circuit}")).unwrap_or_default();
            let text = format!("limits moved{of}: {} {}, now {}", new.words, old.within, new.within);
            changes.push(VersionChange::new("range_moved", new.circuit.as_deref(), text).grave());
        }
    }
    changes
}

fn text(text: &Option<String>) -> String {
    text.clone().unwrap_or_default()
}

fn spots(place: &String, old: &Spot, new: &Spot) -> Vec<VersionChange> {
    let compared = [
        ("port", text(&old.port), text(&new.port)),
        ("land", land(old.land.as_ref()), land(new.land.as_ref())),
        ("kind of leak", leak(old.kind, old.seal), leak(new.kind, new.seal)),
    ];
    changed(Some(place), compared)
}

fn details(old: &Circuit, new: &Circuit) -> Vec<VersionChange> {
    let compared = [
        ("port", text(&old.port), text(&new.port)),
        ("meaning", text(&old.means), text(&new.means)),
        ("symptoms", old.symptoms.join(", "), new.symptoms.join(", ")),
        ("land", land(old.land.as_ref()), land(new.land.as_ref())),
        ("kind of leak", leak(old.kind, old.seal), leak(new.kind, new.seal)),
        ("repairs", repairs(&old.repairs), repairs(&new.repairs)),
        ("picture", picture(old.map.as_ref()), picture(new.map.as_ref())),
    ];
    changed(Some(&new.name), compared)
}

fn declarations(before: &Outline, after: &Outline) -> Vec<VersionChange> {
    let (old, new) = (&before.title, &after.title);
    let unit = |unit: &Option<String>| unit.clone().unwrap_or_default();
    let cost = |cost: Option<f64>| cost.map(|cost| cost.to_string()).unwrap_or_default();
    let oil = |outline: &Outline| {
        let oil = outline.title.oil.as_ref();
        oil.map(|oil| format!("{} at {} and {}", oil.oil(), oil.pressure(), oil.temperature()))
            .unwrap_or_default()
    };
    let compared = [
        ("title", old.title.clone(), new.title.clone()),
        ("unit", unit(&old.unit), unit(&new.unit)),
        ("oil", oil(before), oil(after)),
        ("cost of a replacement", cost(old.replacement), cost(new.replacement)),
        ("picture", picture(old.map.as_ref()), picture(new.map.as_ref())),
    ];
    changed(None, compared).into_iter().chain(replaced(before, after)).collect()
}

/// A picture's name, and where ports lie on it.
fn picture(map: Option<&PortMap>) -> String {
    let port = |(port, Pixel { x, y }): (&String, &Pixel)| format!("{port} at {x} {y}");
    let told = |map: &PortMap| {
        let ports: Vec<_> = map.ports.iter().map(port).collect();
        if ports.is_empty() {
            map.picture.clone()
        } else {
            format!("{} with {}", map.picture, ports.join(", "))
        }
    };
    map.map(told).unwrap_or_default()
}

/// Returns the pictures that are others under the same name.
fn replaced(before: &Outline, after: &Outline) -> Vec<VersionChange> {
    let other = |new: &&PictureDigest| {
        before.pictures.iter().any(|old| old.name == new.name && old.sha256 != new.sha256)
    };
    let told = |new: &PictureDigest| {
        VersionChange::new("detail", None, format!("picture changed: {} shows something else", new.name))
    };
    after.pictures.iter().filter(other).map(told).collect()
}

/// Tells what of these is different.
fn changed<const N: usize>(
    circuit: Option<&String>,
    compared: [(&'static str, String, String); N],
) -> Vec<VersionChange> {
    let of = circuit.map(|circuit| format!(" of {circuit}")).unwrap_or_default();
    let shown = |text: String| if text.is_empty() { "none".to_owned() } else { text };
    let others = compared.into_iter().filter(|(_, from, to)| from != to);
    let told =
        others.map(|(what, from, to)| format!("{what}{of} changed: {}, now {}", shown(from), shown(to)));
    told.map(|text| VersionChange::new("detail", circuit.map(String::as_str), text)).collect()
}

fn land(land: Option<&Land>) -> String {
    let text = |land: &Land| {
        let mut text = format!("{} bore, {} long", land.diameter(), land.length());
        text += &land.eccentricity().map(|known| format!(", eccentricity {known}")).unwrap_or_default();
        if land.lands() > 1 {
            text += &format!(", {} in a row", land.lands());
        }
        text += &format!(", by {}", land.measured().word());
        if let Some(expansions) = land.expansions() {
            let millionths = [expansions.valve_per_k, expansions.bore_per_k].map(|per_k| per_k * 1e6);
            text +=
                &format!(", growing by {:.1} and {:.1} millionths per kelvin", millionths[0], millionths[1]);
        }
        text
    };
    land.map(text).unwrap_or_default()
}

/// What a leak is said to be, and what seals in place of a land.
fn leak(kind: Option<LeakKind>, seal: Option<Seal>) -> String {
    [kind.map(LeakKind::word), seal.map(Seal::word)].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn repairs(repairs: &[Repair]) -> String {
    let text = |repair: &Repair| {
        let parts = repair.parts.map(|parts| format!(", parts for {parts}")).unwrap_or_default();
        let hours = repair.hours.map(|hours| format!(", {hours} h")).unwrap_or_default();
        format!("{}{parts}{hours}", repair.does)
    };
    repairs.iter().map(text).collect::<Vec<_>>().join("; ")
}

/// What is different in the text of a procedure: comments, blank lines, indentation and the version itself aside.
///
/// Walks do not come by everything; a text that is other shows here whatever it does.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub(crate) struct ChangedLines {
    pub(crate) gone: Vec<String>,
    pub(crate) new: Vec<String>,
    pub(crate) is_reordered: bool,
}

impl ChangedLines {
    pub(crate) fn between(before: &Program, after: &Program) -> ChangedLines {
        let (old, new) = (lines(before), lines(after));
        let ((gone, kept), (new, kept_too)) = (apart(&old, &new), apart(&new, &old));
        ChangedLines { gone, new, is_reordered: kept != kept_too }
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.gone.is_empty() && self.new.is_empty() && !self.is_reordered
    }
}

/// A line with its file, as it is compared and as it is shown.
struct TextLine<'a> {
    compared: (&'a str, String),
    shown: &'a str,
}

fn lines(program: &Program) -> Vec<TextLine<'_>> {
    let version = format!("\"{}\"", program.title.version);
    let files = program.source.files.iter();
    let lines = files.flat_map(|file| file.text.lines().map(|line| (file.name.as_str(), line.trim())));
    lines
        .filter(|(_, line)| !line.is_empty() && !line.starts_with("//"))
        .map(|(file, line)| TextLine { compared: (file, line.replacen(&version, "", 1)), shown: line })
        .collect()
}

/// Returns the lines of a text that another has not, or not as often, and apart from them those that both have.
fn apart<'a>(one: &'a [TextLine<'_>], other: &[TextLine<'_>]) -> (Vec<String>, Vec<&'a (&'a str, String)>) {
    let mut left: BTreeMap<_, usize> = BTreeMap::new();
    for line in other {
        *left.entry(&line.compared).or_default() += 1;
    }
    let (mut alone, mut shared) = (Vec::new(), Vec::new());
    for line in one {
        match left.get_mut(&line.compared).filter(|n| **n > 0) {
            Some(n) => {
                *n -= 1;
                shared.push(&line.compared);
            }
            None => alone.push(line.shown.to_owned()),
        }
    }
    (alone, shared)
}
