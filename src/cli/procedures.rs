use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use super::arguments::{ShopFolder, compile};
use super::complaints::sayings;
use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::quantity::so_many;
use crate::record::{Shop, provenance};
use crate::share::{Listing, ProcedurePlace, catalogue, find};

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
        // What people say in other words is looked for in those of procedures.
        let mut sought = vec![self.words.clone()];
        let meant = sayings(&shop)?.meant(&self.words.join(" "));
        sought.extend(meant.iter().map(|meant| meant.split_whitespace().map(str::to_owned).collect()));
        let mut status = Status::Done;
        let mut listings = Vec::new();
        let places = catalogue(&shop).map_err(Failure::wrong)?;
        for place in places.into_iter().chain(self.file.into_iter().map(ProcedurePlace::File)) {
            match listing(&place, &shop) {
                Ok(listing) if sought.iter().any(|words| listing.has(words)) => {
                    let is_named = matches!(place, ProcedurePlace::File(_));
                    let is_used =
                        is_named || find(&shop, &listing.id).ok().flatten().as_ref() == Some(&place);
                    listings.push((listing, is_used));
                }
                Ok(_) => {}
                // One that is not in order must not hide the others.
                Err(failure) => status = status.max(failure.report()),
            }
        }
        let mut screen = Screen::stdout();
        if self.json {
            let listings: Vec<_> = listings.iter().map(|(listing, _)| listing_document(listing)).collect();
            screen.json(&json!({ "procedures": listings }));
            return Ok(status);
        }
        if listings.is_empty() {
            screen.line("No procedure has all of these words.");
        }
        // One that is asked for by its name tells all that it is for.
        let is_asked_for = |listing: &Listing| self.words == [listing.id.clone()];
        for (listing, is_used) in &listings {
            let has = |symptom: &str, word: &String| symptom.to_lowercase().contains(&word.to_lowercase());
            let has_word = |symptom: &&str| {
                self.words.iter().any(|word| has(symptom, word))
                    || sought[1..].iter().any(|words| words.iter().all(|word| has(symptom, word)))
            };
            let symptoms = listing.symptoms().into_iter();
            let found: Vec<_> =
                symptoms.filter(|symptom| is_asked_for(listing) || has_word(symptom)).collect();
            show_listing(&mut screen, listing, *is_used, &found);
        }
        Ok(status)
    }
}

fn listing(place: &ProcedurePlace, shop: &Shop) -> Result<Listing, Failure> {
    let program = compile(place.source(shop).map_err(Failure::not_in_order)?)?;
    Listing::of(&program).map_err(|fault| Failure::not_in_order(program.source.render(&[fault])))
}

/// Shows what a list says of a procedure, and that it is for some of its complaints.
pub(super) fn show_listing(screen: &mut Screen, listing: &Listing, is_used: bool, symptoms: &[&str]) {
    heading(screen, &format!("{}@{}", listing.id, listing.version), &listing.title);
    screen.paragraph(4, &tests(listing.unit.as_deref(), listing.circuits.len()));
    screen.paragraph(4, &provenance(listing.origin, listing.signer.as_ref()));
    if !is_used {
        screen.paragraph(
            4,
            &format!("not what the name alone means: runs as {}@{} only", listing.id, listing.version),
        );
    }
    if !symptoms.is_empty() {
        screen.paragraph(4, &format!("for {}", symptoms.join(", ")));
    }
}

/// Writes a procedure's name and its title, below each other where one line is too narrow for both.
pub(super) fn heading(screen: &mut Screen, name: &str, title: &str) {
    let line = format!("{name}  {title}");
    if textwrap::core::display_width(&line) <= screen.width() {
        screen.line(&line);
    } else {
        screen.line(name);
        screen.paragraph(4, title);
    }
}

pub(super) fn tests(unit: Option<&str>, n_circuits: usize) -> String {
    format!("{}, {}", unit.unwrap_or("a bench job"), so_many(n_circuits, "circuit"))
}

pub(super) fn listing_document(listing: &Listing) -> Value {
    json!({
        "id": listing.id,
        "title": listing.title,
        "unit": listing.unit,
        "version": listing.version,
        "origin": listing.origin,
        "signer": listing.signer,
        "circuits": listing.circuits.iter().map(|circuit| &circuit.name).collect::<Vec<_>>(),
        "symptoms": listing.symptoms(),
    })
}
