use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use super::arguments::{ShopFolder, compile};
use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::record::{Origin, Shop, provenance};
use crate::share::{
    ChangedLines, Listing, Novelty, Pack, ProcedurePlace, Receipt, SignerStanding, catalogue, find,
};

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
        let mut status = Status::Done;
        let mut listings = Vec::new();
        let places = catalogue(&shop).map_err(Failure::wrong)?;
        for place in places.into_iter().chain(self.file.into_iter().map(ProcedurePlace::File)) {
            match listing(&place, &shop) {
                Ok(listing) if listing.has(&self.words) => {
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
        for (listing, is_used) in &listings {
            let has_word = |symptom: &&str| {
                self.words.iter().any(|word| symptom.to_lowercase().contains(&word.to_lowercase()))
            };
            let found: Vec<_> = listing.symptoms().into_iter().filter(has_word).collect();
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
        screen.paragraph(4, &format!("not the latest: runs as {}@{} only", listing.id, listing.version));
    }
    if !symptoms.is_empty() {
        screen.paragraph(4, &format!("for {}", symptoms.join(", ")));
    }
}

/// Writes a procedure's name and its title, below each other where one line is too narrow for both.
fn heading(screen: &mut Screen, name: &str, title: &str) {
    let line = format!("{name}  {title}");
    if textwrap::core::display_width(&line) <= screen.width() {
        screen.line(&line);
    } else {
        screen.line(name);
        screen.paragraph(4, title);
    }
}

fn tests(unit: Option<&str>, n_circuits: usize) -> String {
    let circuits = if n_circuits == 1 { "circuit" } else { "circuits" };
    format!("{}, {n_circuits} {circuits}", unit.unwrap_or("a bench job"))
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

/// Shows what a pack is: who signed it, how that signer stands here, and what it changes.
pub(super) fn explain(screen: &mut Screen, pack: &Pack, receipt: &Receipt) {
    heading(screen, &format!("{}@{}", pack.id(), pack.version()), pack.title());
    screen.paragraph(4, &tests(pack.unit(), receipt.n_circuits));
    screen.paragraph(4, &format!("signed by {}, {}", pack.signer().name, standing(&receipt.standing)));
    screen.paragraph(4, &format!("fingerprint {}", pack.signer().public_key.fingerprint()));
    let Some(current) = &receipt.current else {
        screen.paragraph(4, "nothing of that name is here yet");
        return;
    };
    let in_use = format!("version {} in use here", current.version);
    match receipt.novelty {
        Novelty::New | Novelty::Newer => screen.paragraph(4, &format!("later than {in_use},")),
        Novelty::Older => screen.paragraph(4, &format!("earlier than {in_use},")),
        Novelty::Same if current.version == pack.version() => return,
        Novelty::Same => return screen.paragraph(4, &format!("{in_use} stays")),
        Novelty::Different => {
            screen.paragraph(
                4,
                &format!("not what is here as that version; in use is version {},", current.version),
            );
        }
    }
    let now = provenance(current.origin, current.signer.as_ref());
    screen.paragraph(4, &format!("which is {now}"));
    if current.signer.as_ref() != Some(&pack.signer().signer()) && current.origin == Origin::Shop {
        screen.item("  ! ", "another signer than that of the version in use");
    }
    for change in &receipt.changes {
        screen.item(if change.is_grave() { "  ! " } else { "  - " }, &change.to_string());
    }
    show_lines(screen, &receipt.lines, receipt.changes.is_empty());
}

/// Shows the lines of the text that are others: what no list of changes names shows here.
fn show_lines(screen: &mut Screen, lines: &ChangedLines, is_all: bool) {
    /// The most lines that are shown of each kind, and the most letters of a line.
    const MOST: usize = 50;
    const LONGEST: usize = 400;
    if lines.is_empty() {
        return screen.paragraph(4, "nothing of its text is different but comments");
    }
    let mark = if is_all { "  ! " } else { "    " };
    screen.item(mark, "lines of its text that are others; read them before you use it:");
    for (mark, lines) in [("    < ", &lines.gone), ("    > ", &lines.new)] {
        for line in lines.iter().take(MOST) {
            screen.item(mark, &line.chars().take(LONGEST).collect::<String>());
        }
        if let Some(more) = lines.len().checked_sub(MOST).filter(|more| *more > 0) {
            screen.item(mark, &format!("... and {more} more"));
        }
    }
    if !lines.gone.is_empty() || !lines.new.is_empty() {
        screen.paragraph(4, "< is in use here, > is in the pack");
    }
    if lines.is_reordered {
        screen.item("  ! ", "lines that both have stand in another order");
    }
}

pub(super) fn standing(standing: &SignerStanding) -> String {
    match standing {
        SignerStanding::Own => "which is this shop".to_owned(),
        SignerStanding::Trusted => "who is trusted here".to_owned(),
        SignerStanding::Stranger(None) => "whom nobody here knows".to_owned(),
        SignerStanding::Stranger(Some(alike)) => {
            format!("whom nobody here knows; CAREFUL: that is not \"{alike}\", who is known")
        }
        SignerStanding::OtherKey(_) => "whose name is known here with another key".to_owned(),
        SignerStanding::OtherName(known) => format!("whose key is known here as that of \"{}\"", known.name),
    }
}

pub(super) fn receipt_document(pack: &Pack, receipt: &Receipt, is_installed: bool) -> Value {
    let (standing, alike) = match &receipt.standing {
        SignerStanding::Own => ("own", None),
        SignerStanding::Trusted => ("trusted", None),
        SignerStanding::Stranger(alike) => ("stranger", alike.clone()),
        SignerStanding::OtherKey(known) => ("other_key", Some(known.name.clone())),
        SignerStanding::OtherName(known) => ("other_name", Some(known.name.clone())),
    };
    let current = receipt.current.as_ref().map(|current| {
        json!({
            "version": current.version.to_string(),
            "origin": current.origin,
            "signer": current.signer,
        })
    });
    json!({
        "id": pack.id(),
        "version": pack.version().to_string(),
        "title": pack.title(),
        "unit": pack.unit(),
        "circuits": receipt.n_circuits,
        "signer": pack.signer().signer(),
        "standing": standing,
        "known_as": alike,
        "novelty": receipt.novelty,
        "current": current,
        "changes": receipt.changes,
        "lines": receipt.lines,
        "installed": is_installed,
    })
}
