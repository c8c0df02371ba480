use jiff::Timestamp;

use super::bench;
use super::circuit::{CircuitStory, Finding};
use crate::leak::Verdict;
use crate::quantity::Unit;
use crate::record::{Answer, FindingRecord, Mode, Record, Wants, What, provenance};
use crate::session::screens;

/// The sentence that every report carries.
pub const DEFERRAL: &str = "The unit's service information, local codes and the judgement of a licensed technician go \
                            before anything in this report. It says what was read on one bench on one day; it is \
                            advice, never a guarantee.";

/// A record told in words, for any renderer. Texts are as they were written, so a renderer cleans and escapes them.
#[derive(Debug, Clone, PartialEq)]
pub struct Story {
    /// What the report is about.
    pub title: String,
    /// Whether nothing was measured.
    pub is_rehearsal: bool,
    /// Why the record is not to be relied on, or not the last word; whoever has it in hand says so.
    pub warnings: Vec<String>,
    /// Who, when and what, each with its label.
    pub facts: Vec<(String, String)>,
    /// The outcome in a sentence or two.
    pub headline: String,
    /// The circuits that were read, in the order described.
    pub circuits: Vec<CircuitStory>,
    /// The circuits that were not, by the reason for it.
    pub left_out: Vec<String>,
    /// What was concluded.
    pub findings: Vec<String>,
    /// What the decisions cost and save.
    pub account: Option<String>,
    /// The procedure's other questions, with what was answered.
    pub answers: Vec<(String, String)>,
    /// What the technician jotted down.
    pub notes: Vec<String>,
    /// What the readings rest on, each with its label.
    pub bench: Vec<(String, String)>,
    /// The cautions that were acknowledged.
    pub cautions: Vec<String>,
    /// How the record can be checked.
    pub proof: String,
    /// The unit that vacuums are shown in.
    pub unit: &'static Unit,
}

/// Tells a record, beside the earlier one that it builds on where that is at hand, with vacuums in a unit.
pub fn tell(record: &Record, before: Option<&Record>, unit: &'static Unit) -> Story {
    let circuits: Vec<_> =
        record.circuits.iter().map(|circuit| CircuitStory::of(circuit, record, before, unit)).collect();
    let headline = headline(&circuits);
    let (circuits, unread): (Vec<_>, Vec<_>) =
        circuits.into_iter().partition(|circuit| !circuit.readings.is_empty());
    Story {
        title: record.procedure.title.clone(),
        is_rehearsal: record.mode == Mode::Rehearsal,
        warnings: Vec::new(),
        facts: facts(record, before),
        headline,
        circuits,
        left_out: left_out(&unread),
        findings: record.findings.iter().map(found).collect(),
        account: (!record.decisions.is_empty()).then(|| screens::account(&record.account)),
        answers: answers(record),
        notes: record.notes.iter().map(|note| note.text.clone()).collect(),
        bench: bench::facts(record, unit),
        cautions: cautions(record),
        proof: format!(
            "Record {}, SHA-256 {}, made by spoolproof {}. The record holds every answer and can be worked out again: \
             spoolproof records audit.",
            record.session,
            record.digest.as_deref().unwrap_or("none"),
            record.program
        ),
        unit,
    }
}

fn facts(record: &Record, before: Option<&Record>) -> Vec<(String, String)> {
    let mut facts = vec![(
        "Procedure".to_owned(),
        format!(
            "{}, version {}, {}",
            record.procedure.id,
            record.procedure.version,
            provenance(record.procedure.origin, record.procedure.signer.as_ref())
        ),
    )];
    let mut say = |label: &str, text: Option<String>| {
        facts.extend(text.map(|text| (label.to_owned(), text)));
    };
    say("Job", record.job.clone());
    say("Unit", record.procedure.unit.clone());
    let complaints = record.plan.as_ref().filter(|plan| !plan.complaints.is_empty());
    say("Complaint", complaints.map(|plan| plan.complaints.join("; ")));
    let after = record.plan.as_ref().and_then(|plan| plan.after.as_ref());
    let amended = |session: &str| {
        let standing = before.filter(|before| before.session != session);
        standing.map(|before| format!(", as amended by {}", before.session)).unwrap_or_default()
    };
    say(
        "Tested again after",
        after.map(|earlier| format!("{}{}", earlier.session, amended(&earlier.session))),
    );
    say("Technician", record.technician.clone());
    let minute = |at: Timestamp| at.strftime("%Y-%m-%d %H:%M UTC").to_string();
    say("Read", read_at(record).map(|(first, last)| format!("{} to {}", minute(first), minute(last))));
    let finished = if record.amends.is_some() { "Amended" } else { "Finished" };
    say(finished, Some(minute(record.finished)));
    say(
        "Amends",
        record
            .amends
            .as_ref()
            .map(|amends| format!("{}: {} ({})", amends.earlier.session, amends.reason, amends.by)),
    );
    facts
}

/// Writes a finding, and of which circuit it is.
fn found(finding: &FindingRecord) -> String {
    let of = finding.circuit.as_ref().map(|circuit| format!("{circuit}: ")).unwrap_or_default();
    format!("{of}{}", finding.text)
}

/// Returns when the first and the last reading of a circuit was taken.
fn read_at(record: &Record) -> Option<(Timestamp, Timestamp)> {
    let readings = record.circuits.iter().flat_map(|circuit| &circuit.readings);
    let at = || readings.clone().flat_map(|reading| &reading.takes).map(|take| take.at);
    at().min().zip(at().max())
}

/// Names circuits that were not read, together where they have one reason.
fn left_out(circuits: &[CircuitStory]) -> Vec<String> {
    let mut by_reason: Vec<(&str, Vec<&str>)> = Vec::new();
    for circuit in circuits {
        let reason = circuit.left.as_deref().unwrap_or("no reading was taken");
        match by_reason.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, names)) => names.push(&circuit.name),
            None => by_reason.push((reason, vec![&circuit.name])),
        }
    }
    by_reason.into_iter().map(|(reason, names)| format!("{}: {}", reason, names.join("; "))).collect()
}

/// Says in a sentence or two what came out.
fn headline(circuits: &[CircuitStory]) -> String {
    let named = |verdict: Verdict| {
        let names: Vec<_> = circuits
            .iter()
            .filter(|circuit| circuit.finding == Finding::Tested(verdict))
            .map(|circuit| circuit.name.as_str())
            .collect();
        names.join(", ")
    };
    let n_tested = circuits.iter().filter(|circuit| circuit.finding != Finding::NotTested).count();
    let n_sound =
        circuits.iter().filter(|circuit| circuit.finding == Finding::Tested(Verdict::Holds)).count();
    let hold = if n_sound == 1 { "holds" } else { "hold" };
    let mut text = match (n_tested, circuits.len() - n_tested) {
        (0, _) => "No circuit was tested.".to_owned(),
        (_, 0) => format!("{n_sound} of {n_tested} circuits {hold}."),
        (_, left) => format!("{n_sound} of {n_tested} tested circuits {hold}; {left} not tested."),
    };
    for (verdict, words) in [
        (Verdict::Leaks, "Leaking, to be repaired"),
        (Verdict::Worn, "Worn"),
        (Verdict::Retest, "Not decided, to be read again"),
        (Verdict::Unjudged, "Read and not judged, for want of limits"),
    ] {
        let names = named(verdict);
        if !names.is_empty() {
            text += &format!(" {words}: {names}.");
        }
    }
    text
}

/// Returns what was asked besides readings and answered with more than "done".
fn answers(record: &Record) -> Vec<(String, String)> {
    record
        .answers
        .iter()
        .filter(|given| given.answer != Answer::Confirmed)
        .map(|given| (given.question.clone(), screens::answer_text(&given.answer)))
        .collect()
}

fn cautions(record: &Record) -> Vec<String> {
    record
        .answers_in_order()
        .filter_map(|event| match &event.what {
            What::Answered { question, .. } if question.wants == Wants::Acknowledgement => {
                Some(question.words.clone())
            }
            _ => None,
        })
        .collect()
}
