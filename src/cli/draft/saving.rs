use std::io;
use std::path::{Path, PathBuf};

use super::book::Book;
use crate::cli::arguments::{command_in, quoted};
use crate::cli::map::copied_to;
use crate::cli::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::disk::{LARGEST_SETTINGS, read, write_new};
use crate::draft::{Draft, DraftCircuit, Original, Tested, file_name};
use crate::procedure::{Severity, Source, is_plain_name};
use crate::proofread::{Report, proofread};
use crate::quantity::so_many;

#[derive(Debug)]
pub(super) enum Destination {
    /// Into this folder, named after its unit.
    Here,
    /// Into this file, which is not there yet.
    Named(PathBuf),
}

/// How many names are tried beside one that is taken.
const MOST_NAMES: usize = 99;

impl Destination {
    pub(super) fn named(path: PathBuf) -> Result<Destination, Failure> {
        let stem = path.file_stem().and_then(|stem| stem.to_str()).unwrap_or_default();
        if path.extension().is_none_or(|ending| ending != "rhai") || !is_plain_name(stem) {
            return Err(Failure::wrong(format!(
                "{} is no name for a procedure; take letters, figures and hyphens, and .rhai at the end",
                path.display()
            )));
        }
        if path.exists() {
            return Err(Failure::wrong(format!(
                "{} is there already, and a draft never writes over a file; name another with --output",
                path.display()
            )));
        }
        Ok(Destination::Named(path))
    }

    /// Returns the names to try, the best first.
    fn names(&self, draft: &Draft) -> Vec<PathBuf> {
        let first = match self {
            Destination::Here => PathBuf::from(format!("{}.rhai", file_name(&draft.title))),
            Destination::Named(path) => path.clone(),
        };
        let stem = first.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let others = (2..=MOST_NAMES).map(|n| first.with_file_name(format!("{stem}-{n}.rhai")));
        std::iter::once(first.clone()).chain(others).collect()
    }
}

/// Writes a draft into a new file, proofreads it and says how it goes on; the answers, which are in
/// it, are kept no more.
pub(super) fn saved(screen: &mut Screen, draft: &Draft, place: &Destination, book: Book) -> Outcome {
    let path = written(draft, place).map_err(|error| {
        screen.line("It can't be written; this is the whole procedure, to be copied:");
        screen.document(&draft.text("FILE.rhai"));
        Failure::wrong(error)
    })?;
    let shown = path.display().to_string();
    let there = draft.original.as_ref().map_or(&[][..], |original| &original.circuits);
    let judged = there.iter().map(|(_, is_judged)| *is_judged);
    let n_coils = draft.items.iter().filter(|item| matches!(item.tested, Tested::Coil(_))).count();
    let added = draft.items.iter().filter_map(|item| item.tested.circuit());
    let judged: Vec<_> = judged.chain(added.map(DraftCircuit::is_judged)).collect();
    let (n, open) = (judged.len(), judged.iter().filter(|is_judged| !**is_judged).count());
    let some = |n: usize, told: String| if n == 0 { String::new() } else { told };
    screen.say(&format!(
        "Written: {shown}, {}{}{}.",
        so_many(n, "circuit"),
        some(open, format!(", {open} of them with limits to be found")),
        some(n_coils, format!(" and {}", so_many(n_coils, "coil"))),
    ));
    if let (Some(closing), false) =
        (draft.original.as_ref().and_then(Original::closing), draft.items.is_empty())
    {
        screen.say(&format!("What is new stands before \"{closing}\"."));
    }
    let shop = book.shop.clone();
    if let Err(error) = book.close() {
        screen.say(&format!("What was answered could not be removed from the shop's drafts: {error}"));
    }
    let report = proofread(Source::from_path(&path).map_err(|fault| Failure::wrong(fault.render(None)))?);
    found(screen, &report, open + usize::from(draft.picture.is_some()));
    let own = match &draft.original {
        None => {
            "What each circuit says to do before the reading (set_up) and to the customer (means) are usual texts: make \
             them yours."
        }
        Some(_) => {
            "All but title, unit and version stands there as it was, comments too: make it yours in an editor."
        }
    };
    screen.say(&format!("{own} Then, after whatever you change in an editor:"));
    for command in ["proofread", "rehearse", "worksheet", "guide"] {
        screen.line(&format!("  {}", command_in(&shop, &format!("{command} {}", quoted(&shown)))));
    }
    let (told, picture) = match draft.picture_beside(&path) {
        Some(picture) => (format!("Its picture is {}; where its ports lie is clicked on that, and they are ringed on the page and in reports:", picture.display()), ""),
        None => ("With a picture of the body, its ports are clicked on that and ringed on the page and in reports:".to_owned(), " --picture FILE"),
    };
    screen.say(&told);
    screen.line(&format!("  {}", command_in(&shop, &format!("map {}{picture}", quoted(&shown)))));
    Ok(if report.is_sound() { Status::Done } else { Status::NotInOrder })
}

/// Says what proofreading finds, where it is more than what is known to be open: limits that are to be found, and that
/// no port has its place on the picture.
fn found(screen: &mut Screen, report: &Report, n_open: usize) {
    match report.of_severity(Severity::Warning).count() {
        n if !report.is_sound() || n > n_open => screen.message(&report.text()),
        0 => screen.say("Proofread: no errors, no remarks."),
        _ => screen.say("Proofread: no errors, remarks on what is still open."),
    }
}

/// Writes into the first file of its names that is not there.
fn written(draft: &Draft, place: &Destination) -> Result<PathBuf, String> {
    imported(draft, place)?;
    for path in place.names(draft).into_iter().filter(|path| !path.exists()) {
        if let (Some(beside), Some(picture)) = (draft.picture_beside(&path), &draft.picture)
            && !copied_to(&beside, picture).map_err(|failure| failure.text)?
        {
            continue;
        }
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        match write_new(&path, draft.text(&name).as_bytes(), None) {
            Ok(()) => return Ok(path),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(format!("{}: {error}", path.display())),
        }
    }
    Err("every name for it is taken; name another with --output".to_owned())
}

/// Writes what a copied procedure imports and shows beside its copy, where it is not there already.
fn imported(draft: &Draft, place: &Destination) -> Result<(), String> {
    let folder = match place {
        Destination::Here => Path::new(""),
        Destination::Named(path) => path.parent().unwrap_or(Path::new("")),
    };
    for (name, bytes) in draft.original.iter().flat_map(Original::beside) {
        let beside = folder.join(name);
        match write_new(&beside, bytes, None) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                if read(&beside, LARGEST_SETTINGS).ok().as_deref() != Some(bytes) {
                    return Err(format!(
                        "{} is there with other content than what is copied; name a file in another folder with --output",
                        beside.display()
                    ));
                }
            }
            written => written.map_err(|error| format!("{}: {error}", beside.display()))?,
        }
    }
    Ok(())
}
