use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use super::arguments::{ShopFolder, trust};
use super::received::{heading, tests};
use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::record::provenance;
use crate::share::{Entry, Place, catalogue, find};

/// List the procedures: shipped, received, and files that are named; find them by unit, symptom or word.
#[derive(Debug, Args)]
pub(super) struct Procedures {
    /// Only those with all of these words in their name, title, unit, circuits or symptoms
    words: Vec<String>,
    /// List this file too; once for each
    #[arg(long, value_name = "FILE")]
    file: Vec<PathBuf>,
    /// Print one JSON document instead
    #[arg(long)]
    json: bool,
}

impl Procedures {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open()?;
        let trust = trust(&shop)?;
        let mut status = Status::Done;
        let mut entries = Vec::new();
        let places = catalogue(&shop).map_err(Failure::wrong)?;
        let mut used = Vec::new();
        for place in places.into_iter().chain(self.file.into_iter().map(Place::File)) {
            match place.source(&shop, &trust).and_then(Entry::of) {
                Ok(entry) if entry.has(&self.words) => {
                    let is_named = matches!(place, Place::File(_));
                    used.push(is_named || find(&shop, &entry.id).ok().flatten().as_ref() == Some(&place));
                    entries.push(entry);
                }
                Ok(_) => {}
                Err(why) => {
                    // One that is not in order must not hide the others.
                    Failure::not_in_order(why).report();
                    status = Status::NotInOrder;
                }
            }
        }
        let mut screen = Screen::stdout();
        if self.json {
            screen.json(&json!({ "procedures": entries.iter().map(document).collect::<Vec<_>>() }));
            return Ok(status);
        }
        if entries.is_empty() {
            screen.line("No procedure has all of these words.");
        }
        for (entry, is_used) in entries.iter().zip(used) {
            heading(&mut screen, &format!("{}@{}", entry.id, entry.version), &entry.title);
            screen.paragraph(4, &tests(entry.unit.as_deref(), entry.circuits.len()));
            screen.paragraph(4, &provenance(entry.origin, entry.signer.as_ref()));
            if !is_used {
                screen.paragraph(4, &format!("not the latest: runs as {}@{} only", entry.id, entry.version));
            }
            let found = symptoms(entry, &self.words);
            if !found.is_empty() {
                screen.paragraph(4, &format!("for {}", found.join(", ")));
            }
        }
        Ok(status)
    }
}

/// Returns the symptoms of a procedure that have one of the words.
fn symptoms(entry: &Entry, words: &[String]) -> Vec<String> {
    let has =
        |symptom: &&String| words.iter().any(|word| symptom.to_lowercase().contains(&word.to_lowercase()));
    let symptoms = entry.circuits.iter().flat_map(|circuit| &circuit.symptoms);
    let mut found: Vec<_> = symptoms.filter(has).cloned().collect();
    found.sort();
    found.dedup();
    found
}

fn document(entry: &Entry) -> Value {
    let mut symptoms: Vec<_> = entry.circuits.iter().flat_map(|circuit| &circuit.symptoms).collect();
    symptoms.sort();
    symptoms.dedup();
    json!({
        "id": entry.id,
        "title": entry.title,
        "unit": entry.unit,
        "version": entry.version,
        "origin": entry.origin,
        "signer": entry.signer,
        "circuits": entry.circuits.iter().map(|circuit| &circuit.name).collect::<Vec<_>>(),
        "symptoms": symptoms,
    })
}
