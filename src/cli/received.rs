use std::path::Path;

use serde_json::{Value, json};

use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::record::{Origin, provenance};
use crate::share::{Index, Listed, Novelty, Pack, Receipt, Standing, Trust, Version};

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

/// Says what a procedure tests.
pub(super) fn tests(unit: Option<&str>, n_circuits: usize) -> String {
    let circuits = if n_circuits == 1 { "circuit" } else { "circuits" };
    format!("{}, {n_circuits} {circuits}", unit.unwrap_or("a bench job"))
}

/// Shows what a pack is: who signed it, how that signer stands here, and what it changes.
pub(super) fn explain(screen: &mut Screen, pack: &Pack, receipt: &Receipt) {
    heading(screen, &format!("{}@{}", pack.id(), pack.version()), pack.title());
    screen.paragraph(4, &tests(pack.unit(), receipt.outline.circuits.len()));
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
        let mark = if change.weight() <= GRAVE { "  ! " } else { "  - " };
        screen.item(mark, &change.to_string());
    }
    let (lines, do_what) = match receipt.lines_changed {
        1 => (
            "1 line of its text is another".to_owned(),
            "does what three walks through it did not show: read it",
        ),
        n => (
            format!("{n} lines of its text are others"),
            "do what three walks through it did not show: read them",
        ),
    };
    match (receipt.changes.is_empty(), receipt.lines_changed) {
        (true, 0) => screen.paragraph(4, "nothing that it asks, says or judges is different"),
        (true, _) => {
            screen.item("  ! ", &format!("{lines}, and {do_what} before you use it"));
        }
        (false, 0) => {}
        (false, _) => {
            screen.paragraph(4, &format!("{lines}; the list is what three walks through it showed"))
        }
    }
}

/// Changes up to this weight get a mark of their own: cautions and limits.
const GRAVE: usize = 2;

fn standing(standing: &Standing) -> String {
    match standing {
        Standing::Own => "which is this shop".to_owned(),
        Standing::Trusted => "who is trusted here".to_owned(),
        Standing::Stranger(None) => "whom nobody here knows".to_owned(),
        Standing::Stranger(Some(alike)) => {
            format!("whom nobody here knows; CAREFUL: that is not \"{alike}\", who is known")
        }
        Standing::OtherKey(_) => "whose name is known here with another key".to_owned(),
        Standing::OtherName(known) => format!("whose key is known here as that of \"{}\"", known.name),
    }
}

/// Returns what a pack is as a document.
pub(super) fn document(pack: &Pack, receipt: &Receipt, is_installed: bool) -> Value {
    let (standing, alike) = match &receipt.standing {
        Standing::Own => ("own", None),
        Standing::Trusted => ("trusted", None),
        Standing::Stranger(alike) => ("stranger", alike.clone()),
        Standing::OtherKey(known) => ("other_key", Some(known.name.clone())),
        Standing::OtherName(known) => ("other_name", Some(known.name.clone())),
    };
    let novelty = match receipt.novelty {
        Novelty::New => "new",
        Novelty::Newer => "newer",
        Novelty::Older => "older",
        Novelty::Same => "same",
        Novelty::Different => "different",
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
        "circuits": receipt.outline.circuits.len(),
        "signer": pack.signer().signer(),
        "standing": standing,
        "known_as": alike,
        "novelty": novelty,
        "current": current,
        "changes": receipt.changes,
        "lines_changed": receipt.lines_changed,
        "installed": is_installed,
    })
}

/// Lists what an index holds.
pub(super) fn browse(screen: &mut Screen, path: &Path, trust: &Trust, as_json: bool) -> Outcome {
    let index = Index::read(path).map_err(Failure::not_in_order)?;
    let keeper = index.signer().signer();
    if as_json {
        let procedures: Vec<_> = index.procedures().iter().map(entry).collect();
        screen.json(&json!({ "signer": keeper, "procedures": procedures }));
        return Ok(Status::Done);
    }
    screen.paragraph(0, &format!("Index of {keeper}, {}", standing(&trust.standing(index.signer()))));
    for listed in index.procedures() {
        heading(screen, &format!("{}@{}", listed.id, listed.version), &listed.title);
        screen.paragraph(4, &tests(listed.unit.as_deref(), listed.circuits));
        screen.paragraph(4, &format!("signed by {}", listed.signer.signer()));
        if !listed.symptoms.is_empty() {
            screen.paragraph(4, &format!("for {}", listed.symptoms.join(", ")));
        }
    }
    screen.paragraph(0, &format!("To receive one: spoolproof receive {} NAME", path.display()));
    Ok(Status::Done)
}

fn entry(listed: &Listed) -> Value {
    json!({
        "id": listed.id,
        "version": listed.version,
        "title": listed.title,
        "unit": listed.unit,
        "circuits": listed.circuits,
        "symptoms": listed.symptoms,
        "signer": listed.signer.signer(),
        "pack": listed.pack,
    })
}

/// Opens one procedure of an index: the latest version, unless one is named.
pub(super) fn listed(path: &Path, wanted: &str) -> Result<(Pack, Vec<u8>), Failure> {
    let index = Index::read(path).map_err(Failure::not_in_order)?;
    let (id, version) = wanted.split_once('@').unwrap_or((wanted, ""));
    let fits = |listed: &&Listed| listed.id == id && (version.is_empty() || listed.version == version);
    let latest = |listed: &&Listed| listed.version.parse::<Version>().ok();
    let Some(found) = index.procedures().iter().filter(fits).max_by_key(latest) else {
        return Err(Failure::wrong(format!("the index lists no {wanted}")));
    };
    let folder = path.parent().unwrap_or(Path::new("."));
    let (pack, bytes) = found.open(folder).map_err(Failure::not_in_order)?;
    if pack.id() == found.id && pack.version().to_string() == found.version {
        return Ok((pack, bytes));
    }
    Err(Failure::not_in_order(format!("{} is not the procedure that the index says", found.pack)))
}
