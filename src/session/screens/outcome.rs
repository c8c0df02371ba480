use std::path::Path;

use super::{INDENT, marker};
use crate::console::Screen;
use crate::leak::{Assessment, Estimate, Verdict};
use crate::procedure::Shown;
use crate::quantity::{Pressure, UNITS, Unit, shown as number};
use crate::record::{
    Agreement, Answer, DecisionRecord, MOST_TAKES, Mode, Question, Record, Spot, TakesOutcome,
};
use crate::rig::Calibration;
use crate::tell::{self, CircuitStory};

/// Shows what follows from an answer.
pub(crate) fn shown(screen: &mut Screen, shown: &Shown<'_>, vacuum_unit: &Unit) {
    match shown {
        Shown::Cautioned(cautions) => {
            let gists: Vec<_> = cautions.iter().map(|caution| tell::gist(caution)).collect();
            screen.item(&marker("mind"), &format!("As before: {}", gists.join(" ")));
        }
        Shown::BegunAgain(circuit) => {
            let told = format!(
                "{circuit} was left amid its readings, and the rig may have been moved since: its test begins again."
            );
            screen.item(&marker("rig"), &told);
        }
        Shown::Kept { question, answer } => {
            screen.item(&marker("kept"), &tell::answered(question, answer));
        }
        Shown::Coached(bench) => {
            if let Some(why) = bench.coached_because() {
                screen.paragraph(INDENT, &why);
            }
        }
        Shown::LookedAgain(why) => screen.paragraph(INDENT, why),
        Shown::Checked(check) => {
            let told = if check.is_good { "Still set." } else { "Off at this look." };
            screen.item(&marker("rig"), told);
        }
        Shown::Drifted(circuits) => screen.item(&marker("rig"), &drifted(circuits)),
        Shown::NoFurtherBack => screen.paragraph(INDENT, NO_FURTHER_BACK),
        Shown::Noted => screen.paragraph(INDENT, "Noted."),
        Shown::PhotoKept { circuit, photo } => {
            let of = circuit.map(|circuit| format!(" of {circuit}")).unwrap_or_default();
            let (width, height) = (photo.width, photo.height);
            let told = format!("Photo{of} kept: {width} x {height} pixels, and nothing else of its file.");
            screen.paragraph(INDENT, &told);
        }
        Shown::PhotoLost(why) => {
            screen.paragraph(
                INDENT,
                &format!("The photo is not kept: {why}. Give it again once that is put right."),
            );
        }
        Shown::TakenOver(technician) => {
            screen.paragraph(INDENT, &format!("From here on {technician} tests, and the record says so."));
        }
        Shown::NothingBefore => screen.paragraph(INDENT, "There is no answer that far back."),
        Shown::TakenBack { n, question, answer } => {
            screen.paragraph(INDENT, &taken_back(*n, question, answer));
        }
        Shown::Calibrated(calibration) => calibrated(screen, calibration, vacuum_unit),
        Shown::Judged { outcome, more, .. } if !*more && outcome.verdict().is_sound() => {
            sound(screen, outcome, vacuum_unit);
        }
        // What a first take comes to is told once the plate has been seated again; `more` tells it now.
        Shown::Judged { spot, outcome, more: true, .. } => {
            let verdict = verdict_first(outcome, true, vacuum_unit);
            screen.item(&marker(""), &format!("{verdict}{}.", kept_open_by(spot, outcome, vacuum_unit)));
            agreed(screen, outcome, vacuum_unit);
        }
        Shown::Judged { spot, calibration, outcome, .. } => {
            judged(screen, spot, calibration, outcome, vacuum_unit);
        }
        // Of one reading the verdict has been said.
        Shown::Concluded { n_readings: 1, verdict: Some(_), .. } => {}
        Shown::Concluded { circuit, verdict, .. } => {
            screen.item(&marker("done"), &format!("{circuit}: {}", tell::verdict_word(*verdict)));
        }
    }
}

const NO_FURTHER_BACK: &str = "Two looks found the rig drifted, so back goes no further than that. One answer from before is \
                               taken again with again and how many answers ago it was, as in again 3.";

/// Says what was taken back: the answer, or how many and from which on.
fn taken_back(n: usize, question: &Question, answer: &Answer) -> String {
    let at = question.circuit.as_ref().map(|circuit| format!(" at {circuit}")).unwrap_or_default();
    match n {
        1 => format!("Taken back{at}: {}.", tell::answered(question, answer)),
        n => format!("Taken back: {n} answers, the first of them{at}: {}.", tell::answered(question, answer)),
    }
}

fn drifted(circuits: &[String]) -> String {
    match circuits {
        [] => "It has drifted since it was last good, so it is set again.".to_owned(),
        circuits => format!(
            "It has drifted since it was last good, so what was read since then is read again, after setting the rig: {}.",
            circuits.join(", ")
        ),
    }
}

fn calibrated(screen: &mut Screen, calibration: &Calibration, vacuum_unit: &Unit) {
    let (plugged, through) = calibration.targets();
    let [plugged, through] = [plugged, through].map(|target| target.in_unit(vacuum_unit));
    let read = [calibration.plugged(), calibration.through()].map(|read| read.in_unit(vacuum_unit));
    let asked = match read == [plugged.clone(), through.clone()] {
        true => String::new(),
        false => format!(" (asked for: {plugged} and {through})"),
    };
    let [plugged, through] = read;
    screen.item(&marker("rig"), &format!("Set: {plugged} plugged, {through} through the orifice{asked}."));
    if calibration.pump().is_some() {
        let text = "The pump does not keep the inlet valve sonic, so readings are judged with the pump's figures too.";
        screen.item(&marker(""), text);
    }
}

/// Says that a circuit is sound, and its standard reading where that is another than the gauge shows.
fn sound(screen: &mut Screen, outcome: &TakesOutcome, vacuum_unit: &Unit) {
    let read = outcome.assessment.reading_pa.in_unit(vacuum_unit);
    let standard = Pressure::from_si(outcome.assessment.standard_reading_pa.value)
        .map(|standard| standard.in_unit(vacuum_unit))
        .filter(|standard| *standard != read)
        .map(|standard| format!(": standard reading {standard}"));
    screen.item(&marker(""), &format!("{}{}.", outcome.verdict(), standard.unwrap_or_default()));
    agreed(screen, outcome, vacuum_unit);
}

/// Says the verdict, and the figure that it rests on; takes that differ have none.
fn verdict_first(outcome: &TakesOutcome, more: bool, vacuum_unit: &Unit) -> String {
    let label = match outcome.verdict() {
        Verdict::Retest => "undecided".to_owned(),
        verdict => verdict.to_string(),
    };
    let so_far = if more { " so far" } else { "" };
    if outcome.agreement == Agreement::None {
        return format!("{label}{so_far}");
    }
    let standard = tell::range(&outcome.assessment.standard_reading_pa, vacuum_unit);
    format!("{label}{so_far}: standard reading {standard}")
}

/// Names the limits that lie within what a reading may be off, where that leaves it undecided.
fn kept_open_by(spot: &Spot, outcome: &TakesOutcome, vacuum_unit: &Unit) -> String {
    let is_open = outcome.verdict() == Verdict::Retest && outcome.agreement != Agreement::None;
    let Some(limits) = spot.limits.filter(|_| is_open) else { return String::new() };
    let standard = &outcome.assessment.standard_reading_pa;
    let within = [limits.lower(), limits.upper()]
        .into_iter()
        .filter(|limit| (standard.low..=standard.high).contains(&limit.si()))
        .map(|limit| number(vacuum_unit.from_si(limit.si()), 1));
    match within.collect::<Vec<_>>().as_slice() {
        [] => String::new(),
        [one] => format!(", with the limit {one} in between"),
        several => format!(", with the limits {} in between", several.join(" and ")),
    }
}

fn agreed(screen: &mut Screen, outcome: &TakesOutcome, vacuum_unit: &Unit) {
    if let Some(text) = tell::agreement(outcome, vacuum_unit) {
        screen.paragraph(INDENT, &text);
    }
}

/// Shows all that a reading says.
pub(crate) fn judged(
    screen: &mut Screen,
    spot: &Spot,
    calibration: &Calibration,
    outcome: &TakesOutcome,
    vacuum_unit: &Unit,
) {
    let verdict = verdict_first(outcome, false, vacuum_unit);
    if outcome.agreement == Agreement::None {
        screen.item(&marker(""), &format!("{verdict}."));
    } else {
        let (hole, area) = (tell::hole(&outcome.assessment), tell::area(&outcome.assessment));
        screen.item(
            &marker(""),
            &format!("{verdict}. Leaks like a hole of {hole}, {area} of the test orifice's area."),
        );
        for line in dial_strip(screen.width() - INDENT, spot, calibration, &outcome.assessment, vacuum_unit) {
            screen.line(&format!("{:INDENT$}{line}", ""));
        }
    }
    agreed(screen, outcome, vacuum_unit);
    if outcome.is_sure_amiss {
        screen.paragraph(
            INDENT,
            "It is not sound; only how bad it is stays open. What is to be done is asked at the end.",
        );
    }
    // What a take that is still asked for may tell needs no advice.
    let is_third_asked = outcome.agreement == Agreement::None && outcome.takes.len() < MOST_TAKES;
    let advice = outcome.judgement.and_then(|judgement| judgement.advice);
    if let Some(advice) = advice.filter(|_| !is_third_asked) {
        screen.paragraph(INDENT, &advice.to_string());
    }
}

/// The gauge's scale as lines of text: numbers, the three zones of the circuit on this bench, the reading with its
/// interval, and what the letters stand for. Letters mark the zones, not colours, so that it reads in grey and aloud.
///
/// A circuit without limits has no zones. Narrow screens get a scale of fewer columns, none below 31.
fn dial_strip(
    width: usize,
    spot: &Spot,
    calibration: &Calibration,
    assessment: &Assessment,
    vacuum_unit: &Unit,
) -> Vec<String> {
    let plugged = calibration.plugged().si();
    let columns: u32 = match width {
        0..=38 => return Vec::new(),
        39..=69 => 30,
        _ => 60,
    };
    let full = full_scale(plugged, vacuum_unit);
    let at =
        |si: f64| ((vacuum_unit.from_si(si) / full).clamp(0.0, 1.0) * f64::from(columns)).round() as usize;
    let (limits, travel) = (spot.limits.as_ref(), spot.travel());
    let here =
        |standard: Pressure| travel.of_standard(standard, calibration).map_or(0, |reading| at(reading.si()));
    let zones = limits.map(|limits| (here(limits.lower()), here(limits.upper()), limits.verdicts()));

    let scale: String = (0..=columns as usize)
        .map(|column| match column {
            column if column > at(plugged) => ' ',
            column => match zones {
                None => '.',
                Some((lower, _, [verdict, ..])) if column <= lower => tell::mark(verdict),
                Some((_, upper, [_, verdict, _])) if column < upper => tell::mark(verdict),
                Some((.., [.., verdict])) => tell::mark(verdict),
            },
        })
        .collect();
    let named = |verdict: Verdict| format!("{} {verdict}, ", tell::mark(verdict));
    let legend = match limits {
        Some(limits) => format!("{}(^) reading", limits.verdicts().map(named).concat()),
        None => "(^) reading; no limits yet".to_owned(),
    };
    let mut needle = vec![' '; columns as usize + 1];
    let standard = &assessment.standard_reading_pa;
    for (si, mark) in [(standard.low, '('), (standard.high, ')')] {
        needle[Pressure::from_si(si).map_or(0, here)] = mark;
    }
    needle[at(assessment.reading_pa.si())] = '^';
    vec![
        numbers(full, columns, vacuum_unit),
        scale.trim_end().to_owned(),
        needle.iter().collect::<String>().trim_end().to_owned(),
        legend,
    ]
}

/// Writes the figures above a scale of so many columns.
fn numbers(full: f64, columns: u32, vacuum_unit: &Unit) -> String {
    let mut numbers = String::new();
    for tick in 0..=6_u32 {
        let column = (columns * tick / 6) as usize;
        numbers = format!("{numbers:<column$}{}", number(full * f64::from(tick) / 6.0, 0));
    }
    format!("{numbers} {}", vacuum_unit.symbol)
}

/// Returns the end of the scale: 30 inHg and its like in other units, in steps that divide by six.
fn full_scale(plugged: f64, vacuum_unit: &Unit) -> f64 {
    let least = vacuum_unit.from_si(plugged);
    let step = [6.0, 30.0, 60.0, 102.0, 120.0, 600.0, 1200.0, 6000.0, 120_000.0];
    step.into_iter().find(|full| *full >= least).unwrap_or(least)
}

/// Shows the outcome of a finished session, where its record is, and what comes after a repair by which command.
pub(crate) fn finished(
    screen: &mut Screen,
    record: &Record,
    before: Option<&Record>,
    path: &Path,
    then: &[(&str, String)],
) {
    screen.line("");
    screen.title("outcome");
    outcome(screen, record, before);
    let is_repaired =
        |decision: &DecisionRecord| decision.offered.iter().any(|repair| repair.does == decision.decided);
    if record.mode == Mode::Bench && record.decisions.iter().any(is_repaired) {
        for (when, command) in then {
            screen.item(&marker("then"), when);
            screen.paragraph(INDENT, command);
        }
    }
    screen.item(&marker("kept"), &format!("Record: {}", path.display()));
}

/// Shows a stored record, under what is known of it, each with its label.
pub(crate) fn record(screen: &mut Screen, record: &Record, facts: &[(String, String)]) {
    screen.title(&record.procedure.title);
    match record.mode {
        Mode::Bench => {}
        Mode::Rehearsal => screen.paragraph(INDENT, "A rehearsal: nothing was measured."),
        Mode::Practice => screen.paragraph(INDENT, "An exercise at a simulated rig: nothing was measured."),
    }
    screen.paragraph(INDENT, &format!("Session: {}", record.session));
    for (label, text) in facts {
        screen.paragraph(INDENT, &format!("{label}: {text}"));
    }
    outcome(screen, record, None);
    for (_, note) in record.notes() {
        screen.item(&marker("note"), note);
    }
    for (event, circuit, photo) in record.photos() {
        screen.item(
            &marker("photo"),
            &format!("{} ({})", tell::photo(record, event, circuit, photo), photo.sha256),
        );
    }
}

fn outcome(screen: &mut Screen, record: &Record, before: Option<&Record>) {
    let is_read = |verdict: Option<Verdict>| verdict.is_some_and(|verdict| verdict != Verdict::NotFitted);
    let circuits = tell::circuits(record, before, &UNITS[0]);
    let (read, unread): (Vec<_>, Vec<_>) = circuits.into_iter().partition(|circuit| is_read(circuit.verdict));
    outcome_of_read(screen, read);
    outcome_of_unread(screen, unread, before);
    for finding in &record.findings {
        screen.item(&marker("found"), &tell::finding(finding));
    }
    if let Some(text) = tell::complaints_without_cause(record) {
        screen.item(&marker("found"), &text);
    }
    for decision in &record.decisions {
        screen.item(&marker("plan"), &format!("{}: {}", decision.circuit, decision.decided));
    }
    if !record.decisions.is_empty() {
        screen.paragraph(INDENT, &tell::account(record));
    }
}

fn of_verdict(screen: &mut Screen, verdict: Option<Verdict>, text: &str) {
    screen.item(&format!("{:INDENT$}{:<12}", "", tell::verdict_word(verdict)), text);
}

fn outcome_of_read(screen: &mut Screen, circuits: Vec<CircuitStory>) {
    let unit = &UNITS[0];
    let standard = |mark: &str, deciding: Option<Estimate>| {
        let read = |standard: Estimate| number(unit.from_si(standard.value), 1);
        deciding.map(|standard| format!("{mark}{} {}", read(standard), unit.symbol)).unwrap_or_default()
    };
    let mut told = Vec::new();
    for circuit in circuits {
        let differing = circuit.differing().map(|read| format!(": {read}"));
        let was = circuit.before.map(|before| {
            format!(" (before: {}{})", tell::verdict_word(before.verdict), standard(", ", before.deciding))
        });
        let left = circuit.left.map(|reason| format!(" (not tested to its end: {reason})"));
        told.push((
            circuit.verdict,
            circuit.name,
            circuit.deciding,
            [differing, was, left].map(Option::unwrap_or_default).concat(),
        ));
    }
    // What is sound needs no line of its own.
    let is_sound = |verdict: Option<Verdict>| verdict.is_some_and(Verdict::is_sound);
    for alike in told.chunk_by(|one, next| one.0 == next.0 && is_sound(one.0)) {
        // Once in a line says of which rig its figures are.
        let first = alike.iter().position(|(_, _, deciding, _)| deciding.is_some());
        let text = |(at, (_, name, deciding, more)): (usize, &(_, String, _, String))| {
            let mark = if Some(at) == first { ": standard " } else { ": " };
            format!("{name}{}{more}", standard(mark, *deciding))
        };
        let texts: Vec<String> = alike.iter().enumerate().map(text).collect();
        of_verdict(screen, alike[0].0, &texts.join("; "));
    }
}

fn outcome_of_unread(screen: &mut Screen, circuits: Vec<CircuitStory>, before: Option<&Record>) {
    // What a test after a repair leaves out because it was sound is no gap.
    let was_sound = |name: &str| {
        let earlier = before?.circuits.iter().find(|circuit| circuit.circuit.name == name)?;
        earlier.verdict.filter(|verdict| verdict.is_sound())
    };
    let (sound, untested): (Vec<_>, Vec<_>) =
        circuits.into_iter().partition(|circuit| was_sound(&circuit.name).is_some());
    for verdict in [Verdict::Holds, Verdict::Right] {
        let names: Vec<_> = sound.iter().map(|circuit| circuit.name.as_str()).collect();
        let names: Vec<_> = names.into_iter().filter(|name| was_sound(name) == Some(verdict)).collect();
        if !names.is_empty() {
            of_verdict(screen, Some(verdict), &format!("{} (as tested before)", names.join("; ")));
        }
    }
    for verdict in [Some(Verdict::NotFitted), None] {
        let circuits = untested.iter().filter(|circuit| circuit.verdict == verdict);
        for (reason, names) in tell::by_reason(circuits) {
            of_verdict(screen, verdict, &format!("{} ({reason})", names.join("; ")));
        }
    }
}
