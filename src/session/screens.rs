//! What a technician sees: pure text made from questions and outcomes.

use std::path::Path;

use super::dial_strip::dial_strip;
use crate::console::Screen;
use crate::leak::{Estimate, Verdict};
use crate::procedure::{Place, Shown};
use crate::quantity::{Unit, shown as number};
use crate::record::{Answer, Circuit, HoseOn, Mode, Opening, Outcome, Question, Record, Told, Wants};
use crate::rig::Calibration;

/// Column where texts begin; what stands left of it says what kind of text it is.
pub const INDENT: usize = 7;

/// Shows what a session is about to do, or that it goes on.
pub fn opened(screen: &mut Screen, opening: &Opening, goes_on: bool) {
    screen.line(&rule(
        screen.width(),
        &format!("{}, version {}", opening.procedure.title, opening.procedure.version),
    ));
    let begins = match (goes_on, opening.mode) {
        (true, _) => "Going on where the session was left.",
        (false, Mode::Rehearsal) => {
            "A rehearsal on a simulated rig: nothing is measured, nothing enters the shop's records."
        }
        (false, Mode::Bench) => "Every answer is kept at once. Type help or ? at any prompt.",
    };
    screen.paragraph(INDENT, begins);
    screen.paragraph(
        INDENT,
        "The unit's service information, local codes and a licensed technician's judgement go before what you read here.",
    );
}

/// Shows the outcome of a finished session and where its record is.
pub fn finished(screen: &mut Screen, record: &Record, path: &Path) {
    screen.line("");
    screen.line(&rule(screen.width(), "outcome"));
    outcome(screen, record);
    screen.item(&marker("kept"), &format!("Record: {}", path.display()));
}

/// Shows a stored record.
pub fn record(screen: &mut Screen, record: &Record) {
    let title = format!("{}, version {}", record.procedure.title, record.procedure.version);
    screen.line(&rule(screen.width(), &title));
    let technician = record.technician.as_deref().unwrap_or("nobody named");
    let rehearsal = if record.mode == Mode::Rehearsal { " Rehearsal: nothing was measured." } else { "" };
    let time = record.finished.strftime("%Y-%m-%d %H:%M UTC");
    screen.paragraph(INDENT, &format!("{} by {technician}, {time}.{rehearsal}", record.session));
    outcome(screen, record);
    for note in &record.notes {
        screen.item(&marker("note"), &note.text);
    }
}

fn outcome(screen: &mut Screen, record: &Record) {
    for circuit in &record.circuits {
        let verdict = circuit.verdict.map_or("not tested".to_owned(), |verdict| verdict.to_string());
        let why = circuit.left.as_ref().map(|reason| format!(" ({reason})")).unwrap_or_default();
        screen.item(&format!("{:INDENT$}{verdict:<12}", ""), &format!("{}{why}", circuit.circuit.name));
    }
    for finding in &record.findings {
        screen.item(&marker("found"), &finding.text);
    }
}

/// Says in a line how many circuits got which verdict.
pub fn summary(record: &Record) -> String {
    let summary = &record.summary;
    let counts = [
        (summary.holds, "holds"),
        (summary.worn, "worn"),
        (summary.leaks, "leaks"),
        (summary.retest, "retest"),
        (summary.not_tested, "not tested"),
    ];
    let counts: Vec<_> =
        counts.iter().filter(|(n, _)| *n > 0).map(|(n, what)| format!("{n} {what}")).collect();
    if counts.is_empty() { "no circuits".to_owned() } else { counts.join(", ") }
}

/// Shows something that is told.
pub fn told(screen: &mut Screen, told: &Told) {
    match told {
        Told::Section { title } => {
            screen.line("");
            screen.line(&rule(screen.width(), title));
        }
        Told::Said { text } => screen.paragraph(INDENT, text),
        Told::Found { text, .. } => screen.item(&marker("found"), text),
        Told::Described { .. } | Told::Began { .. } | Told::Ended { .. } => {}
    }
}

/// Shows which circuit comes, where the hose goes and what its limits are.
pub fn circuit(screen: &mut Screen, circuit: &Circuit, place: &Place, vacuum_unit: &Unit) {
    let of = match place.n_circuits {
        0 | 1 => String::new(),
        n => format!(" {} of {n}", place.n_tested + 1),
    };
    screen.line("");
    screen.line(&rule(screen.width(), &format!("circuit{of}: {}", circuit.name)));
    let port = circuit.port.as_ref().map(|port| format!("Hose on port {port}. ")).unwrap_or_default();
    screen.paragraph(
        INDENT,
        &format!(
            "{port}Holds at {} and deeper, leaks at {} and less (standard readings).",
            circuit.limits.holds().in_unit(vacuum_unit),
            circuit.limits.leaks().in_unit(vacuum_unit)
        ),
    );
}

/// Shows a question, without the prompt.
pub fn question(screen: &mut Screen, question: &Question) {
    let kind = match question.wants {
        Wants::Acknowledgement => "CARE",
        Wants::Ready => "do",
        Wants::Reading { .. } => "read",
        _ => "ask",
    };
    screen.item(&marker(kind), &question.words);
    if let Wants::Choice { options } = &question.wants {
        for (index, option) in options.iter().enumerate() {
            screen.item(&format!("{:INDENT$}{} ", "", index + 1), option);
        }
    }
    if let Wants::Barometer = question.wants {
        screen.paragraph(INDENT, BAROMETER_FORMS);
    }
}

const BAROMETER_FORMS: &str = "Station pressure (29.1 inHg), elevation (5280 ft), or a weather report with the elevation \
                               (30.11 inHg at 5577 ft).";

/// Returns the prompt that a question is answered at.
pub fn prompt(question: &Question) -> String {
    let wanted = match &question.wants {
        Wants::Acknowledgement => "type ok".to_owned(),
        Wants::Ready => "Enter when done".to_owned(),
        Wants::Yes => "yes or no".to_owned(),
        Wants::Choice { .. } => "which".to_owned(),
        Wants::Text => "words".to_owned(),
        Wants::Technician => "name".to_owned(),
        Wants::Number { unit, .. } | Wants::Reading { unit, .. } => unit.clone(),
        Wants::Barometer => "barometer".to_owned(),
    };
    format!("{:INDENT$}{wanted}: ", "")
}

/// Says in full what a question wants.
pub fn wanted(question: &Question) -> String {
    match &question.wants {
        Wants::Acknowledgement => {
            "Type ok when you have read the caution; Enter alone is not enough.".to_owned()
        }
        Wants::Ready => "Do what it says, then press Enter.".to_owned(),
        Wants::Yes => "Type yes or no, or y or n.".to_owned(),
        Wants::Choice { .. } => "Type the number of a choice, or how it begins.".to_owned(),
        Wants::Text => {
            "Type a few words; in double quotes if they begin with one of the words below.".to_owned()
        }
        Wants::Technician => "Type your name or initials.".to_owned(),
        Wants::Number { unit, .. } => {
            format!("Type the value. A bare number is in {unit}; any other unit can be written behind it.")
        }
        Wants::Reading { on, unit, .. } => {
            let steady = match on {
                HoseOn::Circuit { .. } => "Wait until the needle stands still, then type what it shows.",
                _ => {
                    "Wait until the needle stands still, then type what it shows, exactly on the mark or not."
                }
            };
            format!(
                "{steady} 18.5, 18 1/2 and 18,5 are the same; a bare number is in {unit}, and 62.6 kPa works too."
            )
        }
        Wants::Barometer => BAROMETER_FORMS.to_owned(),
    }
}

/// Says where the walk is.
pub fn progress(place: &Place) -> String {
    let section = place.section.as_ref().map(|title| format!("Section \"{title}\". ")).unwrap_or_default();
    let here = match &place.circuit {
        Some(circuit) => format!("Testing \"{}\". ", circuit.name),
        None => String::new(),
    };
    let left = place.n_circuits.saturating_sub(place.n_tested);
    format!("{section}{here}{} circuits done, {left} to go.", place.n_tested)
}

/// Shows what follows from an answer.
pub fn shown(screen: &mut Screen, shown: &Shown<'_>, vacuum_unit: &Unit) {
    match shown {
        Shown::Kept { question, answer } => {
            screen.item(&marker("kept"), &format!("{}: {}", question.words, answer_text(answer)));
        }
        Shown::Calibrated(calibration) => calibrated(screen, calibration, vacuum_unit),
        Shown::Judged { circuit, calibration, outcome, more } => {
            judged(screen, circuit, calibration, outcome, *more, vacuum_unit);
        }
        Shown::Concluded { circuit, verdict } => {
            let verdict = verdict.map_or("not tested".to_owned(), |verdict| verdict.to_string());
            screen.item(&marker("done"), &format!("{circuit}: {verdict}"));
        }
    }
}

fn calibrated(screen: &mut Screen, calibration: &Calibration, vacuum_unit: &Unit) {
    let (plugged, through) = calibration.targets();
    screen.item(
        &marker("rig"),
        &format!(
            "Set: {} plugged and {} through the orifice; {} and {} are the marks at this barometer. Readings are \
             worked out from where it stands.",
            calibration.plugged().in_unit(vacuum_unit),
            calibration.through().in_unit(vacuum_unit),
            plugged.in_unit(vacuum_unit),
            through.in_unit(vacuum_unit)
        ),
    );
}

fn judged(
    screen: &mut Screen,
    circuit: &Circuit,
    calibration: &Calibration,
    outcome: &Outcome,
    more: bool,
    vacuum_unit: &Unit,
) {
    let verdict = outcome.judgement.verdict;
    let label = if verdict == Verdict::Retest { "undecided" } else { &verdict.to_string() };
    let so_far = if more { " so far" } else { "" };
    screen.item(
        &marker(""),
        &format!(
            "{label}{so_far}: standard reading {}. Leaks like a hole of {}, {} of the test orifice's area.",
            range(&outcome.assessment.standard_reading_pa, vacuum_unit),
            hole(&outcome.assessment.hole_m),
            percent(&outcome.assessment.relative_leak),
        ),
    );
    for line in
        dial_strip(screen.width() - INDENT, &circuit.limits, calibration, &outcome.assessment, vacuum_unit)
    {
        screen.line(&format!("{:INDENT$}{line}", ""));
    }
    let aside = outcome.counts.iter().filter(|counts| !**counts).count();
    if aside > 0 {
        screen.paragraph(
            INDENT,
            "A take that read clearly less than the best one is set aside: the seat leaked then.",
        );
    }
    if let (Some(advice), false) = (&outcome.judgement.advice, more) {
        screen.paragraph(INDENT, &advice.to_string());
    }
}

/// Writes an estimate with its interval in a unit.
pub fn range(estimate: &Estimate, unit: &Unit) -> String {
    let show = |si| number(unit.from_si(si), unit.decimals);
    format!("{} {} ({} to {})", show(estimate.value), unit.symbol, show(estimate.low), show(estimate.high))
}

/// Writes a hole in inches, with millimetres behind.
pub fn hole(estimate: &Estimate) -> String {
    let inches = |si: f64| format!("{:.4}", si / 0.0254);
    format!(
        "{} in ({} to {}), {:.2} mm",
        inches(estimate.value),
        inches(estimate.low),
        inches(estimate.high),
        estimate.value * 1e3
    )
}

fn percent(estimate: &Estimate) -> String {
    format!("{} %", number(estimate.value * 100.0, 1))
}

/// Writes an answer as it was given.
pub fn answer_text(answer: &Answer) -> String {
    match answer {
        Answer::Confirmed => "done".to_owned(),
        Answer::Yes { yes: true } => "yes".to_owned(),
        Answer::Yes { yes: false } => "no".to_owned(),
        Answer::Choice { chosen } => chosen.clone(),
        Answer::Text { text } => text.clone(),
        Answer::Quantity { entry } => {
            let has_unit = entry.entered.ends_with(|c: char| !c.is_ascii_digit());
            if has_unit { entry.entered.clone() } else { format!("{} {}", entry.entered, entry.unit) }
        }
        Answer::Barometer { entered, .. } => entered.clone(),
        Answer::Unable { reason } => format!("could not be done: {reason}"),
    }
}

fn marker(kind: &str) -> String {
    format!("{kind:>5}  ")
}

fn rule(width: usize, title: &str) -> String {
    let title = crate::console::clean(title);
    let used = title.chars().count() + 4;
    format!("── {title} {}", "─".repeat(width.saturating_sub(used)))
}
