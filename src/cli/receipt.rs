use serde_json::{Value, json};

use super::procedures::{heading, tests};
use crate::console::Screen;
use crate::quantity::UNITS;
use crate::record::{Origin, PictureDigest, provenance};
use crate::share::{ChangedLines, Novelty, Pack, Receipt, SignerStanding};
use crate::tell;

/// Shows what a pack is: who signed it, how that signer stands here, and what it changes.
pub(super) fn explain(screen: &mut Screen, pack: &Pack, receipt: &Receipt, remarks: &[String]) {
    heading(screen, &format!("{}@{}", pack.id(), pack.version()), pack.title());
    screen.paragraph(4, &tests(pack.unit(), receipt.outline.circuits.len()));
    for picture in &receipt.outline.pictures {
        let PictureDigest { name, width, height, .. } = picture;
        let bytes = pack.contents().find(|file| file.name == *name).map_or(0, |file| file.bytes.len());
        screen.paragraph(
            4,
            &format!("picture {name}, {width} x {height} pixels, {} KiB", bytes.div_ceil(1024)),
        );
    }
    screen.paragraph(4, &format!("signed by {}, {}", pack.signer().name, standing(&receipt.standing)));
    screen.paragraph(4, &format!("fingerprint {}", pack.signer().public_key.fingerprint()));
    if let Some(withdrawn) = &receipt.withdrawn {
        screen.item("  ! ", &withdrawn.to_string());
    }
    let Some(current) = &receipt.current else {
        screen.paragraph(4, "nothing of that name is here yet");
        return brings(screen, receipt, remarks);
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
        screen.item(if change.is_grave { "  ! " } else { "  - " }, &change.text);
    }
    show_lines(screen, &receipt.lines);
}

/// Shows what a procedure does of which no version is here.
fn brings(screen: &mut Screen, receipt: &Receipt, remarks: &[String]) {
    let outline = &receipt.outline;
    for circuit in &outline.circuits {
        let limits = circuit.limits.as_ref().map(|limits| tell::limits(limits, &UNITS[0]));
        let limits = limits.unwrap_or_else(|| "Limits to be found".to_owned());
        screen.item("  - ", &format!("circuit {}. {limits}", circuit.name));
    }
    for words in &outline.cautions {
        screen.item("  - ", &format!("caution: {words}"));
    }
    if outline.cautions.is_empty() {
        screen.item("  ! ", "it has no caution");
    }
    for remark in remarks {
        screen.item("  ! ", &format!("remark: {remark}"));
    }
    let asks: Vec<_> = receipt.asks.iter().map(|(word, n)| format!("{word} {n}")).collect();
    screen.item("  - ", &format!("what its text calls, and how often it stands there: {}", asks.join(", ")));
}

/// Shows the lines of the text that are others, whatever the changes above say of them.
fn show_lines(screen: &mut Screen, lines: &ChangedLines) {
    /// The most lines that are shown of each kind, and the most letters of a line.
    const MOST: usize = 50;
    const LONGEST: usize = 400;
    if lines.is_empty() {
        return screen.paragraph(4, "nothing of its text is different but comments");
    }
    screen.item("  ! ", "lines of its text that are others; read them before you use it:");
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

/// Says in a few words what a pack of a folder is to the shop.
pub(super) fn novelty(pack: &Pack, receipt: &Receipt) -> String {
    let is_other = receipt.current.as_ref().is_some_and(|current| {
        current.origin == Origin::Shop && current.signer.as_ref() != Some(&pack.signer().signer())
    });
    let current = receipt.current.as_ref().map(|current| current.version.to_string()).unwrap_or_default();
    let novelty = match receipt.novelty {
        Novelty::New => "not here yet".to_owned(),
        Novelty::Newer => format!("newer than {current}, which is here"),
        Novelty::Older => format!("older than {current}, which is here"),
        Novelty::Same => "here already".to_owned(),
        Novelty::Different => "that version is here with other content".to_owned(),
    };
    let withdrawn = receipt.withdrawn.as_ref().map(|withdrawn| format!("; {withdrawn}"));
    let other = if is_other { "; by another signer than what is here" } else { "" };
    format!("{novelty}{other}{}", withdrawn.unwrap_or_default())
}

pub(super) fn receipt_document(
    pack: &Pack,
    receipt: &Receipt,
    remarks: &[String],
    is_installed: bool,
) -> Value {
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
        "circuits": receipt.outline.circuits.len(),
        "cautions": receipt.outline.cautions,
        "pictures": receipt.outline.pictures,
        "remarks": remarks,
        "withdrawn": receipt.withdrawn,
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
