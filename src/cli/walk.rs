use std::fs::File;
use std::path::{Path, PathBuf};

use super::arguments::{command_in, resume_command};
use super::begin::{Begun, now};
use super::indexed::tested_before;
use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::procedure::Desk;
use crate::quantity::UNITS;
use crate::record::{Shop, StoreError};
use crate::session::{Ended, Session, SessionError, screens};

/// Walks a session to its end or until it is parked, and says how it ended.
pub(super) fn walk(shop: Shop, begun: Begun, live: Box<dyn Desk>) -> Outcome {
    let Begun { program, opening, changes, journal, unit } = begun;
    let mut screen = Screen::stdout();
    screens::opened(&mut screen, &opening, !journal.events().is_empty());
    if let Some(unit) = unit {
        screen.paragraph(screens::INDENT, &unit);
    }
    let name = opening.session.clone();
    let again = resume_command(&shop, &name);
    tracing::info!(session = name, answers = journal.standing().count(), "walking");
    let session = Session::new(shop.clone(), opening, changes, journal, live, now, &UNITS[0])
        .map_err(Failure::wrong)?;
    let ended = session.run(&program).map_err(|error| not_stored(&mut screen, (&name, &again), error))?;
    tracing::info!(session = name, ended = ended.kind(), "stopped");
    match ended {
        Ended::Finished(record, path) => {
            let before = tested_before(&shop, &record);
            let again = command_in(&shop, &format!("guide --retest {}", record.session));
            screens::finished(&mut screen, &record, before.as_ref(), &path, &again);
            Ok(Status::Done)
        }
        Ended::Parked => {
            screen.line(&format!("Parked. Nothing is lost; go on with: {again}"));
            Ok(Status::Paused)
        }
        Ended::Lost(why) => Err(Failure::paused(format!(
            "Stopped: {why}. Every answer before this one is kept; go on with: {again}"
        ))),
        Ended::Stranded(why, text) => {
            Err(stranded(&mut screen, (&name, &again), &why, &text, &shop.journal(&name)))
        }
        Ended::Broken(fault) => {
            let text = program.source.render(&[*fault]);
            Err(Failure::not_in_order(format!(
                "{text}\n\nThe procedure has a fault. Every answer is kept; when it is mended, go on with: \
                 {again}"
            )))
        }
    }
}

/// Saves a record that could not be stored in its place: in the first folder that takes it, else on the screen.
fn not_stored(screen: &mut Screen, (name, again): (&str, &str), error: SessionError) -> Failure {
    let SessionError::Store(cause @ StoreError::Io(..), Some(text)) = &error else {
        return Failure::wrong(error);
    };
    match saved_elsewhere(screen, &format!("{name}.json"), text) {
        Some(path) => Failure::wrong(format!(
            "{cause}\nThe record is saved as {} instead. When the shop folder can be written again, \
             {again} puts it in its place.",
            path.display()
        )),
        None => Failure::wrong(cause),
    }
}

/// Saves the journal of a session whose folder is out of reach.
fn stranded(screen: &mut Screen, (name, again): (&str, &str), why: &str, text: &str, home: &Path) -> Failure {
    match saved_elsewhere(screen, &format!("{name}.journal.jsonl"), text) {
        Some(path) => Failure::paused(format!(
            "{why}\nThe last answer is not kept; every one before it is saved as {}. When the shop folder can be \
             written again, go on with: {again}\nIf the folder has lost it, put the saved file \
             back first, as {}.",
            path.display(),
            home.display()
        )),
        None => Failure::paused(why),
    }
}

/// Saves a text in the first folder that takes it; where none does, shows the whole text instead.
fn saved_elsewhere(screen: &mut Screen, name: &str, text: &str) -> Option<PathBuf> {
    let folders = [std::env::current_dir().ok(), etcetera::home_dir().ok(), Some(std::env::temp_dir())];
    for path in folders.into_iter().flatten().map(|folder| folder.join(name)) {
        let saved = File::create(&path).and_then(|mut file| {
            std::io::Write::write_all(&mut file, text.as_bytes())?;
            file.sync_all()
        });
        if saved.is_ok() {
            return Some(path);
        }
    }
    screen.line("Nothing can be saved anywhere; this is the whole text:");
    screen.document(text);
    None
}
