use std::collections::BTreeSet;

use super::taker::{Notes, Tested};
use super::writer::{FIRST_LINE, LIMITS, NO_PORT, TO_BE_FOUND, inside_quotes};
use super::written::{Written, stands_alone};
use super::{Body, Draft, DraftCircuit, DraftLimits, Feature, LeftOut, Origin, Step};
use crate::procedure::{Fault, Program, Site, Title};
use crate::quantity::UNITS;
use crate::record::Circuit;

/// An earlier procedure, as far as a draft carries it over.
#[derive(Debug, Clone)]
pub struct Earlier {
    /// What it is.
    pub title: Title,
    /// What a draft takes from it: all of it, for the same unit. Circuits come in the order it tests them where all is
    /// sound.
    pub draft: Draft,
    /// What is not carried over.
    pub left_out: Vec<LeftOut>,
}

impl Earlier {
    /// Walks a procedure where all is sound, and takes what it describes. The steps of a test come as they are written
    /// where they stand for themselves; else those come that are taken where all is sound.
    ///
    /// # Errors
    /// A fault where the procedure makes a mistake on that way.
    pub fn of(program: &Program) -> Result<Earlier, Fault> {
        let title = program.title.clone();
        let notes = Notes::of(&program.outline()?.sound);
        let mut carried: BTreeSet<Site> =
            notes.cautions.iter().filter_map(|(_, site)| site.clone()).collect();
        let mut cautions: Vec<String> = Vec::new();
        for (caution, _) in notes.cautions {
            if !cautions.contains(&caution) {
                cautions.push(caution);
            }
        }
        let circuits: Vec<_> =
            notes.tested.into_iter().map(|tested| taken(program, tested, &mut carried)).collect();
        let draft = Draft {
            unit: title.unit.clone().unwrap_or_default(),
            part: part(&title),
            origin: Some(Origin {
                named: format!("{} {}", program.source.id, title.version),
                unit: title.unit.clone(),
            }),
            symptoms: title.symptoms.clone(),
            oil: Written::first(program, "procedure").and_then(|written| written.description("oil")),
            replacement: title.replacement,
            cautions,
            circuits,
        };
        let untested = notes.described.into_iter().map(|(circuit, _)| circuit);
        let left_out = left_out(program, &title, &draft, untested, &carried);
        Ok(Earlier { title, draft, left_out })
    }

    /// Returns its circuits for a unit: where its texts name its own, they name this one.
    pub fn circuits_for(&self, unit: &str) -> Vec<DraftCircuit> {
        let old = self.draft.unit.as_str();
        let of_another = |circuit: &mut DraftCircuit| match &mut circuit.limits {
            DraftLimits::Known { note, .. } if !note.is_empty() && !old.is_empty() && old != unit => {
                note.insert(0, format!("Taken over with its limits from {old}:"));
            }
            _ => {}
        };
        let lines = |lines: &str| match old {
            "" => lines.to_owned(),
            // In the lines of a script the names stand as in its texts, with what has to be escaped.
            old => lines.replace(&inside_quotes(old), &inside_quotes(unit)),
        };
        let renamed = |circuit| renamed(circuit, &|text| self.renamed(text, unit), &lines);
        let circuits = self.draft.circuits.iter().map(renamed);
        circuits
            .map(|mut circuit| {
                of_another(&mut circuit);
                circuit
            })
            .collect()
    }

    /// Returns its cautions for a unit.
    pub fn cautions_for(&self, unit: &str) -> Vec<String> {
        self.draft.cautions.iter().map(|caution| self.renamed(caution, unit)).collect()
    }

    fn renamed(&self, text: &str, unit: &str) -> String {
        match &self.title.unit {
            Some(old) if !old.trim().is_empty() => text.replace(old.as_str(), unit),
            _ => text.to_owned(),
        }
    }
}

/// Returns the part of the unit that a title names behind it.
fn part(title: &Title) -> Option<String> {
    title.title.strip_prefix(title.unit.as_deref()?)?.strip_prefix(", ").map(str::to_owned)
}

fn taken(program: &Program, tested: Tested, carried: &mut BTreeSet<Site>) -> DraftCircuit {
    let Tested { circuit, described_at, tested_at, section, steps } = tested;
    let described = described_at.as_ref().and_then(|site| Written::at(program, site));
    let unit = |key| described.as_ref().and_then(|written| written.unit(key));
    let limits = circuit.limits.map_or(DraftLimits::ToBeFound, |limits| DraftLimits::Known {
        limits,
        unit: unit("holds").unwrap_or(&UNITS[0]),
        note: described.as_ref().map(note).unwrap_or_default(),
    });
    let test = tested_at.as_ref().and_then(|site| Written::at(program, site));
    let lines = test.as_ref().and_then(Written::steps).filter(|lines| stands_alone(lines));
    carried.extend(tested_at);
    match (&test, &lines) {
        (Some(test), Some(_)) => {
            let sites = program.sites().map(|(_, site)| site);
            carried.extend(sites.filter(|site| test.contains(site)).cloned());
        }
        _ => carried.extend(steps.iter().filter_map(|(_, site)| site.clone())),
    }
    let steps = steps.into_iter().map(|(step, _)| step).collect();
    let body = body(&circuit, lines, steps);
    let usual = DraftCircuit::new(circuit.name, Feature::Other);
    DraftCircuit {
        section,
        port: circuit.port,
        body,
        set_up: circuit.set_up,
        means: circuit.means,
        limits,
        land: circuit.land,
        land_unit: unit("diameter").unwrap_or(usual.land_unit),
        symptoms: circuit.symptoms,
        repairs: circuit.repairs,
        ..usual
    }
}

/// Returns what stands above the limits of a circuit, where it says where they come from.
fn note(described: &Written<'_>) -> Vec<String> {
    let mut note = described.comments_above("holds");
    note.retain(|line| line != NO_PORT);
    if [LIMITS, TO_BE_FOUND].contains(&note.join(" ").as_str()) { Vec::new() } else { note }
}

/// Returns how a circuit is tested: as one of the features where nothing tells it from that.
fn body(circuit: &Circuit, lines: Option<String>, steps: Vec<Step>) -> Body {
    let is_plain = steps.as_slice() == [Step::Read(None)];
    let is_it = |feature: &Feature| match (feature.steps(circuit.limits.is_some()), &lines) {
        (Some(usual), Some(lines)) => usual == lines,
        (None, None) => is_plain && circuit.means.as_deref() == Some(feature.means()),
        _ => false,
    };
    match (Feature::ALL.into_iter().find(is_it), lines) {
        (Some(feature), _) => Body::Of(feature),
        (None, Some(lines)) => Body::AsWritten(lines),
        (None, None) => Body::Taken(steps),
    }
}

fn renamed(
    circuit: &DraftCircuit,
    new: &impl Fn(&str) -> String,
    new_lines: &impl Fn(&str) -> String,
) -> DraftCircuit {
    DraftCircuit {
        section: circuit.section.as_deref().map(new),
        name: new(&circuit.name),
        body: match &circuit.body {
            Body::Of(feature) => Body::Of(*feature),
            Body::AsWritten(lines) => Body::AsWritten(new_lines(lines)),
            Body::Taken(steps) => Body::Taken(steps.iter().map(|step| step.with_words(new)).collect()),
        },
        set_up: circuit.set_up.as_deref().map(new),
        means: circuit.means.as_deref().map(new),
        ..circuit.clone()
    }
}

/// What the samples of a draft begin with, for the author to take the strokes away.
const SAMPLES: &[&str] =
    &["// land: #{", "// repairs: [#{", "// holds: ", "// leaks: ", "// take the // before"];

/// Lists what a draft that keeps every circuit does not have.
fn left_out(
    program: &Program,
    title: &Title,
    draft: &Draft,
    described: impl Iterator<Item = Circuit>,
    carried: &BTreeSet<Site>,
) -> Vec<LeftOut> {
    let mut found = Vec::new();
    let mut say = |place: Option<String>, what: String| found.push(LeftOut { place, what });
    if title.title != draft.title() {
        say(None, format!("its title, \"{}\": a draft is called after unit and part", title.title));
    }
    if title.version != "1.0.0" {
        say(None, format!("its version, {}: a draft begins at 1.0.0", title.version));
    }
    if title.oil.is_some() && draft.oil.is_none() {
        say(None, "the oil at work, which it works out".to_owned());
    }
    for circuit in described.filter(|known| draft.circuits.iter().all(|taken| taken.name != known.name)) {
        say(None, format!("the circuit {}, which it does not test where all is sound", circuit.name));
    }
    for circuit in &draft.circuits {
        if matches!(&circuit.body, Body::Taken(steps) if *steps != [Step::Read(None)]) {
            let what = "comes with the steps that are taken where all is sound, without what they hang on";
            say(None, format!("the test of {}: it {what}", circuit.name));
        }
    }
    let asked = program.sites().map(|(_, site)| site).filter(|site| !carried.contains(*site));
    let mut lines: BTreeSet<_> = asked.map(|site| (program.source.place(&site.file), site.line)).collect();
    let written = draft.text("");
    let known: BTreeSet<_> = written.lines().map(str::trim).collect();
    for (file, source) in program.source.files.iter().enumerate() {
        // A draft's own head is written anew.
        let is_drafted = source.text.starts_with(FIRST_LINE);
        let numbered = source.text.lines().map(str::trim).zip(1..);
        let behind_head = numbered.skip_while(|(line, _)| is_drafted && !line.is_empty());
        // What a draft shows as a sample is no comment of the author's.
        let is_sample = |line: &str| is_drafted && SAMPLES.iter().any(|sample| line.starts_with(sample));
        let comments = behind_head
            .filter(|(line, _)| line.starts_with("//") && !known.contains(line) && !is_sample(line));
        lines.extend(comments.map(|(_, line)| (file, line)));
    }
    for (file, line) in lines {
        if let Some(file) = program.source.files.get(file) {
            let written = file.text.lines().nth(line.saturating_sub(1)).unwrap_or_default().trim();
            let is_whole = written.ends_with([';', '{', '}']) || written.starts_with("//");
            let of = if program.source.files.len() == 1 { String::new() } else { format!("{}, ", file.name) };
            say(Some(format!("{of}line {line}")), format!("{written}{}", if is_whole { "" } else { " ..." }));
        }
    }
    found
}
