use std::collections::{BTreeMap, BTreeSet};

use super::desk::Mind;
use super::kind::Ladder;
use super::outcome::Reach;
use super::prose::Prose;
use crate::console::looks;
use crate::leak::{Limits, Verdict};
use crate::procedure::{Fault, Program, Site, Statement, nearest, tokens};
use crate::quantity::{INCH_OF_MERCURY, UNITS, shown};
use crate::record::{Circuit, PortMap};
use crate::rig::STANDARD_THROUGH;

/// Makes a fault at a place, or of the whole procedure where there is none.
pub(super) fn at(site: Option<&Site>, message: impl Into<String>) -> Fault {
    match site {
        Some(site) => Fault::at_site(site, message),
        None => Fault::of(message),
    }
}

/// Reports a statement that asks or tells and that no walk came by, with what is known of it.
pub(super) fn missed(statement: &Statement, reach: Reach) -> Option<Fault> {
    let word = statement.word;
    let (message, help) = match reach {
        Reach::Reached => return None,
        Reach::Impossible => (
            format!("no answer leads to this {word}: all that decide it were tried together"),
            "look at the conditions before it: is it meant to be reached?",
        ),
        Reach::ByValues => (
            format!("this {word} was not reached by the values that were tried"),
            "it hangs on a figure or a text: try it with answers of your own in rehearse",
        ),
        Reach::NotTried => (
            format!("this {word} was not reached, and not everything that may lead to it was tried"),
            "it need not be wrong; look at the conditions before it, or try it in rehearse",
        ),
    };
    Some(Fault::at_site(&statement.site, message).help(help).warning())
}

/// Reports the circuits that were described and never tested.
pub(super) fn untested(prose: &Prose, is_cut: bool) -> Vec<Fault> {
    let untested = prose.circuits.iter().filter(|(name, _)| !prose.tested.contains(*name));
    let fault = |(name, (site, _)): (&String, &(Option<Site>, Circuit))| {
        let message =
            format!("the circuit \"{name}\" is described, and no answer that was tried leads to its test");
        let fault = at(site.as_ref(), message).help("test it, or leave its description out");
        if is_cut { fault.warning() } else { fault }
    };
    untested.map(fault).collect()
}

/// Reports circuits whose limits are to be found, or leave a verdict that no reading of the usual gauge gets.
pub(super) fn undecidable(mind: &mut Mind) -> Vec<Fault> {
    let mut found = Vec::new();
    for (name, (site, circuit)) in &mind.prose.circuits {
        let mut warn = |message, help: &str| found.push(at(site.as_ref(), message).help(help).warning());
        let Some(limits) = &circuit.limits else {
            warn(
                format!("the limits of \"{name}\" are to be found: it is read, and gets no verdict"),
                "read units that you know are good; draft and history baseline propose limits from them",
            );
            continue;
        };
        for (message, help) in doubtful(&mut mind.ladder, name, limits) {
            warn(message, &help);
        }
    }
    found
}

/// Reports the same of readings that have limits to themselves.
pub(super) fn undecidable_apart(program: &Program, ladder: &mut Ladder) -> Vec<Fault> {
    let readings = program.outline().map(|outline| outline.readings.as_slice()).unwrap_or_default();
    let mut found = Vec::new();
    for reading in readings.iter().filter(|reading| reading.is_apart) {
        let name = format!("{}: {}", reading.circuit, reading.label);
        for (message, help) in reading.spot.limits.iter().flat_map(|limits| doubtful(ladder, &name, limits)) {
            found.push(at(program.place_of(&reading.label), message).help(help).warning());
        }
    }
    found
}

/// Says what is in doubt about limits, each with help: a slip, or verdicts that no reading of the usual gauge gets.
fn doubtful(ladder: &mut Ladder, name: &str, limits: &Limits) -> Vec<(String, String)> {
    // What no reading gets any more follows from the slip.
    if let Some(slip) = slipped(ladder, name, limits) {
        return vec![slip];
    }
    let readings = ladder.readings(Some(limits), None);
    let is_got = |verdict: &Verdict| readings.iter().any(|known| known.verdict == Some(*verdict));
    let missed = limits.verdicts().into_iter().rev().filter(|verdict| !is_got(verdict));
    let said = |verdict| {
        let help = "put the limits further apart, and away from 0 and 25 inHg";
        (format!("no reading of the usual gauge gets \"{name}\" the verdict {verdict}"), help.to_owned())
    };
    missed.map(said).collect()
}

/// Below this, in inHg, limits of circuits hardly lie; common practice, no source.
const LEAST_USUAL_LIMIT: f64 = 10.0;

/// How many mmHg an inHg is, by definition of the inch.
const MILLIMETRES_IN_AN_INCH: f64 = 25.4;

/// Says what a limit lets pass that is most likely a slip: kPa or mmHg for inHg, a decimal point one place too far
/// left, or a circuit that is to leak more than the test orifice before it is condemned.
fn slipped(ladder: &Ladder, name: &str, limits: &Limits) -> Option<(String, String)> {
    let in_hg = |pa: f64| pa / INCH_OF_MERCURY;
    // A passage may well be wider than the test orifice.
    if limits.is_window() {
        return None;
    }
    let (holds, leaks) = (limits.upper().si(), limits.lower().si());
    single(ladder, name, limits).or_else(|| {
        let is_beyond = in_hg(holds) >= LEAST_USUAL_LIMIT && leaks < STANDARD_THROUGH.si();
        is_beyond.then(|| {
            let shown = limits.lower().in_unit(&UNITS[0]);
            let message = format!(
                "by leaks: {shown} \"{name}\" is condemned only where it leaks more than the whole test orifice"
            );
            (message, format!("the test orifice of 0.035 in reads {STANDARD_THROUGH}; look at figure and unit"))
        })
    })
}

/// Looks at each limit by itself.
fn single(ladder: &Ladder, name: &str, limits: &Limits) -> Option<(String, String)> {
    let in_hg = |pa: f64| pa / INCH_OF_MERCURY;
    let (holds, leaks) = (limits.upper().si(), limits.lower().si());
    // Where a circuit leaks it does not hold.
    let limits = [("holds", "holds", holds, 25.0), ("leaks", "does not leak", leaks, in_hg(holds))];
    limits.into_iter().find_map(|(key, consequence, pa, most)| {
        let is_meant = |meant: f64| {
            // Whoever writes a limit writes a round one.
            let is_round = (2.0 * meant - (2.0 * meant).round()).abs() < 1e-6;
            (LEAST_USUAL_LIMIT..most).contains(&meant) && is_round
        };
        let readings = [
            (pa / 1e3, 1.0, "kPa"),
            (in_hg(pa), 10.0, "inHg"),
            (in_hg(pa) * MILLIMETRES_IN_AN_INCH, 1.0, "mmHg"),
        ];
        let (number, factor, unit) =
            readings.into_iter().find(|(number, factor, _)| is_meant(number * factor))?;
        let hole = shown(ladder.hole(in_hg(pa))?, 3);
        let message = format!(
            "by {key}: {} {unit} \"{name}\" {consequence} with a hole of {hole} in",
            shown(number, 2)
        );
        let meant = shown(number * factor, 1);
        let help = format!(
            "the test orifice of 0.035 in reads 5 inHg; if {meant} inHg is meant, write {key}: {meant}.inHg"
        );
        Some((message, help))
    })
}

/// Reports circuits whose names nobody can tell apart at a glance, and those that are on one port.
pub(super) fn twins(prose: &Prose) -> Vec<Fault> {
    let warn = |circuits: &[&Described], message: String, help: &str| {
        at(circuits.last().and_then(|(site, _)| site.as_ref()), message).help(help).warning()
    };
    let named = alike(prose, |circuit| Some(looks(&circuit.name)));
    let named = named.iter().map(|circuits| {
        let help =
            "let names differ by more than a capital, a blank, a hyphen or a letter of another alphabet";
        warn(circuits, format!("{} can hardly be told apart", names(circuits)), help)
    });
    let ported = alike(prose, |circuit| circuit.port.as_deref().map(looks));
    let ported = ported.iter().map(|circuits| {
        let port = circuits.last().and_then(|(_, circuit)| circuit.port.clone()).unwrap_or_default();
        let help = "look at the ports; what is read twice on one port can be two readings of one circuit";
        warn(circuits, format!("{} are on one port, {port}", names(circuits)), help)
    });
    named.chain(ported).collect()
}

/// Reports ports of circuits that lie on no picture, where there is one for them, and ports on pictures
/// that nothing speaks of.
pub(super) fn unplaced(program: &Program, prose: &Prose) -> Vec<Fault> {
    let circuits = || prose.circuits.values();
    let own = circuits().filter_map(|(_, circuit)| circuit.map.as_ref());
    let maps: Vec<&PortMap> =
        program.title.map.iter().chain(own).filter(|map| !map.ports.is_empty()).collect();
    let readings = program.outline().map(|outline| outline.readings.as_slice()).unwrap_or_default();
    let readings = readings.iter().filter(|reading| reading.is_apart);
    let on_readings = readings.filter_map(|reading| {
        let (port, site) = (reading.spot.port.as_ref()?, program.place_of(&reading.label));
        Some((port, format!("{}: {}", reading.circuit, reading.label), site))
    });
    let on_circuits = circuits()
        .filter_map(|(site, circuit)| Some((circuit.port.as_ref()?, circuit.name.clone(), site.as_ref())));
    let read: Vec<_> = on_circuits.chain(on_readings).collect();
    if maps.is_empty() {
        let map = program.title.map.as_ref().filter(|_| !read.is_empty());
        let unmapped = map.map(|PortMap { picture, .. }| {
            at(program.place_of(picture), format!("no port that is read has its place on {picture}"))
                .help("say their places in ports; spoolproof map lets you click them")
                .warning()
        });
        return unmapped.into_iter().collect();
    }
    let placed: BTreeSet<&str> = maps.iter().flat_map(|map| map.ports.keys()).map(String::as_str).collect();
    // A step may well name a port that is not read, as one to be closed.
    let is_meant =
        |placed: &str| read.iter().any(|(port, ..)| *port == placed) || program.place_of(placed).is_some();
    let of_nothing: Vec<&str> = placed.iter().copied().filter(|placed| !is_meant(placed)).collect();
    let mut found = Vec::new();
    for (port, what, site) in read.iter().filter(|(port, ..)| !placed.contains(port.as_str())) {
        let help = match nearest(port, of_nothing.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\", or is its place still to be said?"),
            None => "say its place in ports; spoolproof map lets you click it".to_owned(),
        };
        found.push(at(*site, format!("port {port} of \"{what}\" is on no picture")).help(help).warning());
    }
    for port in of_nothing {
        let help = "write it as the circuit that is read there has it, or leave it out";
        let message = format!("nothing is read on port {port} of the picture, and no step names it");
        found.push(at(key_of(program, port).as_ref(), message).help(help).warning());
    }
    found
}

/// Returns where a text stands first as the key of a description, in quotes or without.
fn key_of(program: &Program, text: &str) -> Option<Site> {
    program.source.files.iter().find_map(|file| {
        let tokens = tokens(&file.text);
        let mut pairs = tokens.windows(2);
        let key = pairs.find(|pair| pair[0].text.trim_matches('"') == text && pair[1].is(":"))?;
        Some(Site { file: file.name.clone(), line: key[0].line, column: key[0].column })
    })
}

/// Reports pictures that hold what their camera noted.
pub(super) fn noted(program: &Program) -> Vec<Fault> {
    let pictures = program.source.pictures.iter().filter(|picture| picture.is_noted);
    let told = pictures.map(|picture| {
        let message = format!(
            "{} holds what its camera noted: where and when it was taken perhaps, and which way up it was held",
            picture.name
        );
        let help = "whoever gets the procedure gets that, and ports may lie elsewhere where it is followed: save it anew \
                    upright, without its metadata";
        at(program.place_of(&picture.name), message).help(help).warning()
    });
    told.collect()
}

type Described = (Option<Site>, Circuit);

/// Returns the circuits that are alike in something, together; each group in the order described.
fn alike(prose: &Prose, by: impl Fn(&Circuit) -> Option<String>) -> Vec<Vec<&Described>> {
    let mut groups: BTreeMap<String, Vec<&Described>> = BTreeMap::new();
    for described in prose.circuits.values() {
        by(&described.1).into_iter().for_each(|key| groups.entry(key).or_default().push(described));
    }
    let mut groups: Vec<_> = groups.into_values().filter(|circuits| circuits.len() > 1).collect();
    groups.iter_mut().for_each(|circuits| circuits.sort_by_key(|(site, _)| site.clone()));
    groups
}

fn names(circuits: &[&Described]) -> String {
    let names: Vec<_> = circuits.iter().map(|(_, circuit)| format!("\"{}\"", circuit.name)).collect();
    names.join(" and ")
}

/// Reports the symptoms that the title lists and no circuit covers, those of circuits that the title does not list, and
/// pairs that differ so little that they are most likely one.
pub(super) fn symptoms(program: &Program, prose: &Prose) -> Vec<Fault> {
    let listed = &program.title.symptoms;
    let circuits = prose.circuits.values();
    let named: BTreeSet<&str> =
        circuits.flat_map(|(_, circuit)| circuit.symptoms.iter().map(String::as_str)).collect();
    let mut found = Vec::new();
    let mut report = |text: &str, message: String, help: String| {
        found.push(at(program.place_of(text), message).help(help).warning());
    };
    // One that is most likely the same, written otherwise, is told once.
    let mut meant: Vec<&str> = Vec::new();
    for symptom in listed.iter().filter(|symptom| !named.contains(symptom.as_str())) {
        let help = match nearest(symptom, named.iter().copied()) {
            Some(near) => {
                meant.push(near);
                format!("a circuit has \"{near}\"; write both alike")
            }
            None => "name it with the circuit that causes it, or leave it out".to_owned(),
        };
        report(symptom, format!("no circuit covers the symptom \"{symptom}\""), help);
    }
    let names: Vec<_> = named.iter().copied().collect();
    for (n, symptom) in names.iter().enumerate() {
        let is_listed =
            listed.is_empty() || listed.iter().any(|listed| listed == symptom) || meant.contains(symptom);
        if !is_listed {
            let help = "list it with the procedure, or write it like one that is".to_owned();
            report(symptom, format!("the procedure does not list the symptom \"{symptom}\""), help);
        } else if let Some(twin) = names[n + 1..].iter().find(|other| is_twin(symptom, other)) {
            let message = format!("\"{symptom}\" and \"{twin}\" are most likely one symptom");
            report(twin, message, "write both alike".to_owned());
        }
    }
    found
}

/// Returns whether two texts differ only in case, blanks, hyphens or one letter of a longer text without figures.
fn is_twin(a: &str, b: &str) -> bool {
    let plain = |text: &str| text.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect::<String>();
    let (a, b) = (plain(a), plain(b));
    let has_figures = |text: &str| text.contains(|c: char| c.is_ascii_digit());
    a == b || (a.len() > 8 && !has_figures(&a) && strsim::damerau_levenshtein(&a, &b) == 1)
}
