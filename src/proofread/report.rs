use serde::Serialize;

use crate::procedure::{Fault, Severity, Source};
use crate::quantity::Unit;

/// What proofreading a procedure has found.
#[derive(Debug, Clone)]
pub struct Report {
    pub source: Source,
    /// What was found, in the order of the text.
    pub faults: Vec<FoundFault>,
    /// How much was tried; nothing where the procedure could not be walked.
    pub tried: Tried,
}

#[derive(Debug, Clone)]
pub struct FoundFault {
    pub fault: Fault,
    /// The answers that lead there, from the first question of a session on; none where no walk is needed to see it.
    pub answers: Vec<Typing>,
    /// The circuits that were left out, as a complaint or a retest leaves some out.
    pub left_out: Vec<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Typing {
    pub asked: String,
    pub typed: String,
}

/// What of a procedure was tried.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Tried {
    /// How often it was walked.
    pub walks: usize,
    /// How many answers were given on these walks.
    pub answers: usize,
    /// Statements that ask or tell.
    pub statements: usize,
    /// Those that a walk came by.
    pub reached: usize,
    /// Those that no answer leads to: all that decide them were tried in every combination.
    pub impossible: usize,
    /// The others.
    pub not_tried: usize,
    /// Whether the search stopped before everything was tried.
    pub is_cut: bool,
}

impl Report {
    /// Makes a report of faults that were found without a walk.
    pub(super) fn of_faults(source: Source, faults: Vec<Fault>) -> Report {
        let faults = faults.into_iter().map(FoundFault::plain).collect();
        Report { source, faults, tried: Tried::default() }
    }

    pub fn of_severity(&self, severity: Severity) -> impl Iterator<Item = &FoundFault> {
        self.faults.iter().filter(move |finding| finding.fault.severity == severity)
    }

    pub fn is_sound(&self) -> bool {
        self.of_severity(Severity::Error).next().is_none()
    }

    /// Writes the findings, each with its line of the procedure, and how much was tried.
    pub fn text(&self) -> String {
        let parts = self.fault_texts().chain([self.summary()]);
        parts.collect::<Vec<_>>().join("\n\n")
    }

    /// Writes each finding with its line of the procedure.
    pub(crate) fn fault_texts(&self) -> impl Iterator<Item = String> {
        self.faults.iter().map(|finding| self.finding_text(finding))
    }

    /// Writes the answers that lead to the first finding that has some, as a file for `guide --answers`.
    pub fn answers(&self) -> Option<String> {
        let finding = self.faults.iter().find(|finding| !finding.answers.is_empty())?;
        Some(finding.answers_file())
    }

    fn finding_text(&self, finding: &FoundFault) -> String {
        let mut text = self.source.render(std::slice::from_ref(&finding.fault));
        if !finding.left_out.is_empty() {
            let names: Vec<_> = finding.left_out.iter().map(|name| format!("\"{name}\"")).collect();
            text.push_str(&format!(
                "\n  = with {} left out, as a complaint or a retest leaves circuits out",
                names.join(", ")
            ));
        }
        if let Some((last, before)) = finding.answers.split_last() {
            text.push_str("\n  = the way there: ");
            text.push_str(&format!("{} answers, the last of them", before.len() + 1));
            let shown = before.iter().rev().take(4).rev().chain([last]);
            for line in shown {
                let asked: String = line.asked.chars().take(54).collect();
                let cut = if asked.len() < line.asked.len() { "..." } else { "" };
                text.push_str(&format!("\n      {asked}{cut} -> {}", line.typed));
            }
        }
        text
    }

    pub(crate) fn summary(&self) -> String {
        let count = |severity, one: &str| match self.of_severity(severity).count() {
            0 => format!("no {one}s"),
            1 => format!("1 {one}"),
            n => format!("{n} {one}s"),
        };
        let found = format!(
            "{}: {}, {}.",
            self.source.id,
            count(Severity::Error, "error"),
            count(Severity::Warning, "warning")
        );
        let tried = &self.tried;
        if tried.walks == 0 {
            return format!("{found} It was not walked; that comes when it has no errors.");
        }
        let ended = match (tried.is_cut, tried.walks, tried.not_tried) {
            (false, 1, _) => "Walked once.".to_owned(),
            (false, n, _) => format!("Walked {n} times."),
            (true, 1, _) => "Stopped after one way.".to_owned(),
            (true, n, 0) => format!("Stopped after {n} ways: not all answers were tried together."),
            (true, n, 1) => format!("Stopped after {n} ways, 1 statement not tried."),
            (true, n, missed) => format!("Stopped after {n} ways, {missed} statements not tried."),
        };
        format!(
            "{found} Statements that ask or tell: {} reached, {} impossible, {} not tried. {ended}",
            tried.reached, tried.impossible, tried.not_tried,
        )
    }

    /// Returns the report as one JSON document for editors: of each fault where it begins and ends, line and column,
    /// counted in characters from 1.
    pub fn json(&self) -> serde_json::Value {
        let place = |(line, column): (usize, usize)| serde_json::json!({ "line": line, "column": column });
        let messages = self.faults.iter().map(|FoundFault { fault, answers, left_out }| {
            let text = self.source.file(&fault.file).map(|file| file.text.as_str());
            let places = text.and_then(|text| fault.places(text)).map(|places| places.map(place));
            let [start, end] = places.map_or([None, None], |places| places.map(Some));
            serde_json::json!({
                "severity": fault.severity,
                "file": self.source.shown(&fault.file),
                "start": start,
                "end": end,
                "message": fault.message,
                "help": fault.help,
                "answers": answers,
                "left_out": left_out,
            })
        });
        serde_json::json!({
            "format": "spoolproof/proofread/1",
            "procedure": self.source.id,
            "messages": messages.collect::<Vec<_>>(),
            "tried": self.tried,
        })
    }
}

impl Typing {
    /// Returns the figure that was typed, in SI.
    pub(super) fn figure(&self) -> Option<f64> {
        let (number, unit) = self.typed.split_once(' ')?;
        Some(Unit::by_text(unit)?.to_si(number.parse().ok()?))
    }
}

impl FoundFault {
    /// Makes a finding that needs no walk.
    pub(super) fn plain(fault: Fault) -> FoundFault {
        FoundFault { fault, answers: Vec::new(), left_out: Vec::new() }
    }

    /// Writes the answers as a file for `guide --answers`: each behind its question as a comment.
    pub fn answers_file(&self) -> String {
        let mut text = format!("# {}\n", self.fault.message);
        for line in &self.answers {
            for asked in line.asked.lines() {
                text.push_str(&format!("# {asked}\n"));
            }
            text.push_str(&line.typed);
            text.push('\n');
        }
        text
    }
}
