use std::path::Path;

use super::INDENT;
use super::layout::{marker, rule};
use crate::console::Screen;
use crate::leak::Verdict;
use crate::quantity::{Unit, shown as number};
use crate::record::{Account, CircuitRecord, DecisionRecord, Mode, Record};

/// Shows the outcome of a finished session, where its record is, and by which command it is tested again after a repair.
pub fn finished(screen: &mut Screen, record: &Record, before: Option<&Record>, path: &Path, again: &str) {
    screen.line("");
    screen.line(&rule(screen.width(), "outcome"));
    outcome(screen, record, before);
    let is_repaired =
        |decision: &DecisionRecord| decision.offered.iter().any(|repair| repair.does == decision.decided);
    if record.mode == Mode::Bench && record.decisions.iter().any(is_repaired) {
        screen.item(&marker("then"), "After the repair, test again what did not hold:");
        screen.line(&format!("{:INDENT$}{again}", ""));
    }
    screen.item(&marker("kept"), &format!("Record: {}", path.display()));
}

/// Shows a stored record, under what is known of it, each with its label.
pub fn record(screen: &mut Screen, record: &Record, facts: &[(String, String)]) {
    screen.line(&rule(screen.width(), &record.procedure.title));
    if record.mode == Mode::Rehearsal {
        screen.paragraph(INDENT, "A rehearsal: nothing was measured.");
    }
    screen.paragraph(INDENT, &format!("Session: {}", record.session));
    for (label, text) in facts {
        screen.paragraph(INDENT, &format!("{label}: {text}"));
    }
    outcome(screen, record, None);
    for note in &record.notes {
        screen.item(&marker("note"), &note.text);
    }
}

fn outcome(screen: &mut Screen, record: &Record, before: Option<&Record>) {
    let verdict_item = |screen: &mut Screen, verdict: &str, text: &str| {
        screen.item(&format!("{:INDENT$}{verdict:<12}", ""), text);
    };
    // Circuits that were left for one reason share a line: with a plan most are.
    let mut left: Vec<(&str, Vec<&str>)> = Vec::new();
    for circuit in &record.circuits {
        let name = circuit.circuit.name.as_str();
        if let Some(reason) = circuit.left.as_ref().filter(|_| circuit.verdict.is_none()) {
            match left.iter_mut().find(|(known, _)| known == reason) {
                Some((_, names)) => names.push(name),
                None => left.push((reason, vec![name])),
            }
            continue;
        }
        let earlier = before.and_then(|before| before.circuits.iter().find(|c| c.circuit.name == name));
        let was = earlier.map_or(String::new(), |earlier| {
            format!(" (before: {}{})", verdict_text(earlier.verdict), standard(", ", earlier))
        });
        let left = circuit.left.as_ref().map(|reason| format!(" (not tested to its end: {reason})"));
        let text = format!("{name}{}{was}{}", standard(": ", circuit), left.unwrap_or_default());
        verdict_item(screen, &verdict_text(circuit.verdict), &text);
    }
    for (reason, names) in left {
        verdict_item(screen, &verdict_text(None), &format!("{} ({reason})", names.join("; ")));
    }
    for finding in &record.findings {
        let of = finding.circuit.as_ref().map(|circuit| format!("{circuit}: ")).unwrap_or_default();
        screen.item(&marker("found"), &format!("{of}{}", finding.text));
    }
    for decision in &record.decisions {
        screen.item(&marker("plan"), &format!("{}: {}", decision.circuit, decision.decided));
    }
    if !record.decisions.is_empty() {
        screen.paragraph(INDENT, &account(&record.account));
    }
}

/// Writes what the last reading of a circuit that counts was as a standard reading, behind a mark.
fn standard(mark: &str, circuit: &CircuitRecord) -> String {
    let last = circuit.readings.iter().rev().find(|reading| !reading.trial);
    match (last, Unit::by_word("inHg")) {
        (Some(reading), Some(unit)) => {
            let si = reading.meaning.standard_reading_pa.value;
            format!("{mark}{} {}", number(unit.from_si(si), 1), unit.symbol)
        }
        _ => String::new(),
    }
}

fn verdict_text(verdict: Option<Verdict>) -> String {
    verdict.map_or("not tested".to_owned(), |verdict| verdict.to_string())
}

/// Writes what the decisions cost and save.
pub fn account(account: &Account) -> String {
    // Whole sums stay whole; any other has its cents.
    let sum = |figure: f64| if figure.fract() == 0.0 { number(figure, 0) } else { format!("{figure:.2}") };
    let money = |figure: f64| match &account.prices.currency {
        Some(currency) => format!("{} {currency}", sum(figure)),
        None => sum(figure),
    };
    let hours = number(account.hours, 1);
    let hour = if hours == "1" { "hour" } else { "hours" };
    let mut text = format!("Parts {}, {hours} {hour} of work", money(account.parts));
    if let Some(total) = account.total.filter(|_| account.prices.labour_per_hour.is_some()) {
        text += &format!(", together {}", money(total));
    }
    if let Some(saved) = account.saved {
        let than = if saved >= 0.0 { "less" } else { "more" };
        text += &format!("; {} {than} than a replacement", money(saved.abs()));
    }
    text + ". Advice by the figures at hand, never a guarantee."
}

/// Says in a line how many circuits got which verdict.
pub fn summary(record: &Record) -> String {
    let summary = &record.summary;
    let counts = [
        (summary.holds, "holds"),
        (summary.worn, "worn"),
        (summary.leaks, "leaks"),
        (summary.retest, "retest"),
        (summary.not_judged, "not judged"),
        (summary.not_tested, "not tested"),
    ];
    let counts: Vec<_> =
        counts.iter().filter(|(n, _)| *n > 0).map(|(n, what)| format!("{n} {what}")).collect();
    if counts.is_empty() { "no circuits".to_owned() } else { counts.join(", ") }
}
