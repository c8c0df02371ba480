use std::path::Path;

use super::INDENT;
use super::layout::{marker, rule};
use crate::console::Screen;
use crate::leak::Verdict;
use crate::quantity::{Unit, shown as number};
use crate::record::{Account, CircuitRecord, Mode, Record};

/// Shows the outcome of a finished session and where its record is.
pub fn finished(screen: &mut Screen, record: &Record, before: Option<&Record>, path: &Path) {
    screen.line("");
    screen.line(&rule(screen.width(), "outcome"));
    outcome(screen, record, before);
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
    outcome(screen, record, None);
    for note in &record.notes {
        screen.item(&marker("note"), &note.text);
    }
}

fn outcome(screen: &mut Screen, record: &Record, before: Option<&Record>) {
    for circuit in &record.circuits {
        let verdict = verdict_text(circuit.verdict);
        let why = circuit.left.as_ref().map(|reason| format!(" ({reason})")).unwrap_or_default();
        let earlier =
            before.and_then(|before| before.circuits.iter().find(|c| c.circuit.name == circuit.circuit.name));
        let was = match earlier {
            Some(earlier) if circuit.left.is_none() => {
                format!(
                    " (before: {}{}, now{})",
                    verdict_text(earlier.verdict),
                    standard(earlier),
                    standard(circuit)
                )
            }
            _ => String::new(),
        };
        screen.item(&format!("{:INDENT$}{verdict:<12}", ""), &format!("{}{why}{was}", circuit.circuit.name));
    }
    for finding in &record.findings {
        screen.item(&marker("found"), &finding.text);
    }
    for decision in &record.decisions {
        screen.item(&marker("plan"), &format!("{}: {}", decision.circuit, decision.decided));
    }
    if !record.decisions.is_empty() {
        screen.paragraph(INDENT, &account(&record.account));
    }
}

/// Writes what the last reading of a circuit that counts was as a standard reading.
fn standard(circuit: &CircuitRecord) -> String {
    let last = circuit.readings.iter().rev().find(|reading| !reading.trial);
    match (last, Unit::by_word("inHg")) {
        (Some(reading), Some(unit)) => {
            let si = reading.meaning.standard_reading_pa.value;
            format!(" {} {}", number(unit.from_si(si), 1), unit.symbol)
        }
        _ => String::new(),
    }
}

fn verdict_text(verdict: Option<Verdict>) -> String {
    verdict.map_or("not tested".to_owned(), |verdict| verdict.to_string())
}

/// Writes what the decisions cost and save.
pub fn account(account: &Account) -> String {
    let money = |figure: f64| match &account.prices.currency {
        Some(currency) => format!("{} {currency}", number(figure, 2)),
        None => number(figure, 2),
    };
    let mut text = format!("Parts {}, {} hours of work", money(account.parts), number(account.hours, 1));
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
