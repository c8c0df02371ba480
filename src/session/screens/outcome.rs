use std::path::Path;

use super::INDENT;
use super::layout::{marker, rule};
use crate::console::Screen;
use crate::leak::{Estimate, Verdict};
use crate::quantity::{UNITS, shown as number};
use crate::record::{DecisionRecord, Mode, Record};
use crate::tell;

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
    let unit = &UNITS[0];
    let circuits = tell::circuits(record, before, unit);
    let item = |screen: &mut Screen, verdict: Option<Verdict>, text: &str| {
        screen.item(&format!("{:INDENT$}{:<12}", "", tell::verdict_word(verdict)), text);
    };
    let standard = |mark: &str, deciding: Option<Estimate>| {
        let read = |standard: Estimate| number(unit.from_si(standard.value), 1);
        deciding.map(|standard| format!("{mark}{} {}", read(standard), unit.symbol)).unwrap_or_default()
    };
    let (tested, untested): (Vec<_>, Vec<_>) =
        circuits.into_iter().partition(|circuit| circuit.verdict.is_some());
    for circuit in tested {
        let was = circuit.before.map(|before| {
            format!(" (before: {}{})", tell::verdict_word(before.verdict), standard(", ", before.deciding))
        });
        let left = circuit.left.map(|reason| format!(" (not tested to its end: {reason})"));
        let (was, left) = (was.unwrap_or_default(), left.unwrap_or_default());
        let text = format!("{}{}{was}{left}", circuit.name, standard(": ", circuit.deciding));
        item(screen, circuit.verdict, &text);
    }
    for (reason, names) in tell::by_reason(&untested) {
        item(screen, None, &format!("{} ({reason})", names.join("; ")));
    }
    for finding in &record.findings {
        screen.item(&marker("found"), &tell::finding(finding));
    }
    for decision in &record.decisions {
        screen.item(&marker("plan"), &format!("{}: {}", decision.circuit, decision.decided));
    }
    if !record.decisions.is_empty() {
        screen.paragraph(INDENT, &tell::account(&record.account));
    }
}
