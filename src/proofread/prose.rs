use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;

use serde::Deserialize;

use super::findings::at;
use crate::procedure::{Fault, Site, Title, warns_of_suction};
use crate::record::{Asker, Circuit, HoseOn, Question, Told, Wants};

/// The columns that a text has at the prompt of a terminal with 80.
const COLUMNS: usize = 73;
/// The most columns for what stands in a line of its own: a section's title, a circuit's name.
const HEADING_COLUMNS: usize = 60;
/// The most lines of one text: more is not read with both hands full.
const MOST_LINES: usize = 4;

/// What a procedure says on its walks, looked at as a technician reads it.
#[derive(Debug, Default)]
pub(super) struct Prose {
    /// Everything remarked, each once.
    pub(super) remarks: Vec<Fault>,
    /// Every circuit that was described, with where.
    pub(super) circuits: BTreeMap<String, (Option<Site>, Circuit)>,
    here: Option<Site>,
    cautions: String,
    described: Vec<String>,
    /// The circuits that were tested: on any walk, on this one, and the one that is.
    pub(super) tested: BTreeSet<String>,
    began: Vec<String>,
    pub(super) under_test: Option<String>,
    /// The readings of the test, by their labels.
    labels: BTreeMap<String, Option<Site>>,
}

impl Prose {
    pub(super) fn begin(&mut self) {
        self.cautions.clear();
        self.described.clear();
        self.began.clear();
        self.under_test = None;
    }

    /// Returns the circuits of this walk that were described and not tested.
    pub(super) fn untested(&self) -> Vec<String> {
        self.described.iter().filter(|name| !self.began.contains(name)).cloned().collect()
    }

    pub(super) fn titled(&mut self, title: &Title) {
        self.heading("the title", &title.title);
    }

    pub(super) fn told(&mut self, told: &Told, site: Option<Site>) {
        self.here = site;
        match told {
            Told::Section { title } => self.heading("the section's title", title),
            Told::Said { text } | Told::Found { text, .. } => self.text("this text", text),
            Told::Described { circuit } => self.described(circuit),
            Told::NotFitted { circuit, .. } => {
                self.tested.insert(circuit.clone());
                self.began.push(circuit.clone());
            }
            Told::Began { circuit } => {
                self.tested.insert(circuit.clone());
                self.began.push(circuit.clone());
                self.under_test = Some(circuit.clone());
                self.labels.clear();
            }
            Told::Ended { .. } => self.under_test = None,
            Told::Passed { .. } => {}
        }
    }

    pub(super) fn asked(&mut self, question: &Question, site: Option<Site>) {
        self.here = site;
        self.hazards(question);
        if question.asker != Asker::Procedure {
            return;
        }
        self.text("this text", &question.words);
        match &question.wants {
            Wants::Acknowledgement => {
                self.cautions.push_str(&question.words.to_lowercase());
                self.cautions.push('\n');
            }
            Wants::Choice { options } => {
                for option in options {
                    self.heading("the choice", option);
                }
            }
            Wants::Reading { on: HoseOn::Circuit { label, .. }, .. } => {
                let label = label.as_deref().unwrap_or_default();
                self.heading("the reading's label", label);
                self.labelled(label);
            }
            _ => {}
        }
    }

    /// Looks whether a caution about what can hurt has come before somebody does it.
    fn hazards(&mut self, question: &Question) {
        for hazard in uncovered(question, &self.cautions) {
            let message = format!("no caution about {hazard} comes before this");
            // One remark a hazard: the first place is where the caution is missing.
            if !self.remarks.iter().any(|known| known.message == message) {
                self.remark(
                    message,
                    "put caution(\"...\") before it: what can hurt, and how not to get hurt",
                );
            }
        }
    }

    /// Looks whether another place of the test reads under the same label.
    fn labelled(&mut self, label: &str) {
        let first = self.labels.entry(label.to_owned()).or_insert_with(|| self.here.clone());
        if *first != self.here {
            let message = "another reading of this test has the same label".to_owned();
            self.remark(message, "give each a label of its own, as in t.read(\"seated again\")");
        }
    }

    fn described(&mut self, circuit: &Circuit) {
        self.described.push(circuit.name.clone());
        if self.circuits.contains_key(&circuit.name) {
            return;
        }
        self.circuits.insert(circuit.name.clone(), (self.here.clone(), circuit.clone()));
        self.heading("the circuit's name", &circuit.name);
        let texts = [("set_up", &circuit.set_up), ("means", &circuit.means), ("port", &circuit.port)];
        for (key, text) in texts {
            if let Some(text) = text {
                self.text(key, text);
            }
        }
        for symptom in &circuit.symptoms {
            self.heading("the symptom", symptom);
        }
        for repair in &circuit.repairs {
            self.heading("the repair", &repair.does);
        }
    }

    fn heading(&mut self, what: &str, text: &str) {
        let n = text.chars().count();
        if n > HEADING_COLUMNS {
            let message = format!("{what} is {n} characters long and breaks over a line of 80 columns");
            self.remark(message, &format!("say it in {HEADING_COLUMNS} characters or fewer"));
        }
    }

    fn text(&mut self, what: &str, text: &str) {
        let n = text.chars().count();
        if n > COLUMNS * MOST_LINES {
            let message =
                format!("{what} is {n} characters long, more than {MOST_LINES} lines of a terminal");
            self.remark(message, "break it into steps, one at a time");
        } else if let Some(word) = text.split_whitespace().find(|word| word.chars().count() > COLUMNS) {
            let message = format!(
                "the word \"{}...\" does not fit into a line",
                word.chars().take(20).collect::<String>()
            );
            self.remark(message, "put blanks into it");
        }
    }

    fn remark(&mut self, message: String, help: &str) {
        let remark = at(self.here.as_ref(), message).help(help).warning();
        if !self.remarks.contains(&remark) {
            self.remarks.push(remark);
        }
    }
}

/// A danger of the work, the words that announce it, and the words of a caution that covers it.
#[derive(Deserialize)]
struct Hazard {
    name: &'static str,
    /// One of each of these groups stands in a text that leads into it.
    #[serde(borrow)]
    announced_by: Vec<Vec<&'static str>>,
    #[serde(borrow)]
    covered_by: Vec<&'static str>,
}

/// The dangers that are known by their words; a procedure may have others.
static HAZARDS: LazyLock<Vec<Hazard>> = LazyLock::new(|| {
    let known = serde_json::from_str(include_str!("hazards.json"));
    known.unwrap_or_else(|error| unreachable!("they are read in every test: {error}"))
});

/// Returns the hazards of a question that no caution before it covers.
fn uncovered(question: &Question, cautions: &str) -> Vec<&'static str> {
    let is_covered = |words: &[&str]| words.iter().any(|word| cautions.contains(word));
    match &question.wants {
        // The hose is plugged for the first time when the rig is set.
        Wants::Reading { on: HoseOn::Rig(_), .. } if !warns_of_suction(cautions) => {
            vec!["the hose and its suction"]
        }
        Wants::Ready | Wants::Reading { on: HoseOn::Circuit { .. }, .. } => {
            let words = question.words.to_lowercase();
            let announces = |hazard: &&Hazard| {
                hazard.announced_by.iter().all(|group| group.iter().any(|word| words.contains(word)))
            };
            let open = HAZARDS.iter().filter(announces).filter(|hazard| !is_covered(&hazard.covered_by));
            open.map(|hazard| hazard.name).collect()
        }
        _ => Vec::new(),
    }
}
