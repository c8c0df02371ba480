//! The exercises that there are, the attempts that were made at one, and what of them is held back.

use std::collections::BTreeSet;
use std::path::Path;

use crate::cli::arguments::{command_in, program_or_pack};
use crate::cli::share::told_standing;
use crate::cli::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::disk::{LARGEST_SETTINGS, read_text};
use crate::practice::{Prepared, shipped};
use crate::procedure::Program;
use crate::quantity::{shown, so_many};
use crate::record::{
    Answer, Event, Exercise, HandedOut, Question, Record, Shop, SignerKey, Wants, What, names_of_documents,
    read,
};
use crate::session::Journal;
use crate::share::{HandOut, OwnKey, Pack, SignerStanding, Trust, heard};

/// An exercise that was found, with the procedure that came with it where it was handed out.
pub(super) struct Known {
    pub prepared: Prepared,
    pub pack: Option<Pack>,
}

impl Known {
    /// Returns its procedure: the one that came with it, else as this shop has it.
    pub(super) fn program(&self, shop: &Shop) -> Result<Program, Failure> {
        match &self.pack {
            Some(pack) => pack.program().map_err(Failure::not_in_order),
            None => program_or_pack(shop, Path::new(&self.prepared.procedure)),
        }
    }
}

/// Finds an exercise by its file or its name; none where what is named is neither. One that was handed out is verified.
pub(super) fn known(shop: &Shop, named: &Path) -> Result<Option<Known>, Failure> {
    if is_exercise_file(named) {
        return read_exercise(named).map(Some);
    }
    let Some(name) = named.to_str() else { return Ok(None) };
    if let Some(prepared) = shipped().into_iter().find(|known| known.exercise.name == name) {
        return Ok(Some(Known { prepared, pack: None }));
    }
    let own = shop.exercises().join(format!("{name}.json"));
    if own.is_file() { read_exercise(&own).map(Some) } else { Ok(None) }
}

/// Returns the procedure that came with an exercise which was handed out.
pub(in crate::cli) fn procedure_of_exercise(path: &Path) -> Result<Pack, Failure> {
    let Known { prepared, pack } = read_exercise(path)?;
    pack.ok_or_else(|| {
        Failure::wrong(format!(
            "{} was not handed out, so its procedure is not in it; name that by itself: {}",
            path.display(),
            prepared.procedure
        ))
    })
}

pub(in crate::cli) fn is_exercise_file(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending == "json")
}

fn read_exercise(path: &Path) -> Result<Known, Failure> {
    let text = read_text(path, 2 * LARGEST_SETTINGS).map_err(|error| Failure::file(path, error))?;
    let wrong = |error: &dyn std::fmt::Display| Failure::file(path, error);
    let is_signed = serde_json::from_str::<serde_json::Value>(&text)
        .is_ok_and(|document| document.get("signature").is_some());
    if is_signed {
        let (prepared, pack) = HandOut::read(text.as_bytes()).map_err(|error| wrong(&error))?.opened();
        return Ok(Known { prepared, pack: Some(pack) });
    }
    let prepared: Prepared = serde_json::from_str(&text).map_err(|error| wrong(&error))?;
    match prepared.exercise.handed_out {
        None => Ok(Known { prepared, pack: None }),
        Some(_) => Err(wrong(
            &"it says who handed it out, and nobody has signed it; take handed_out out of it, or have it signed with practice prepare",
        )),
    }
}

/// Says which exercises there are.
pub(super) fn names() -> String {
    let names: Vec<String> = shipped().into_iter().map(|known| known.exercise.name).collect();
    format!("The exercises are {}.", names.join(", "))
}

/// Lists the exercises that are shipped and those in the shop's folder for them, each with what it teaches and the best
/// grade of the attempts that lie in this shop.
pub(super) fn list(shop: &Shop, attempts: &Shop) -> Outcome {
    let mut screen = Screen::stdout();
    let names = attempts.record_names().map_err(Failure::wrong)?;
    let records = names.iter().filter_map(|name| read(&attempts.record(name)).ok());
    let records: Vec<Record> = records.filter(made_here(attempts)).collect();
    let of_program = shipped().into_iter().map(|known| (known.exercise.name.clone(), known.exercise));
    // One of the shop's own is called by its file's name.
    let mut exercises: Vec<(String, Exercise)> = of_program.collect();
    for name in names_of_documents(&shop.exercises()).unwrap_or_default() {
        match read_exercise(&shop.exercises().join(format!("{name}.json"))) {
            Ok(known) => exercises.push((name, known.prepared.exercise)),
            Err(failure) => drop(failure.report()),
        }
    }
    for (name, exercise) in exercises {
        let is_at = |record: &&Record| {
            record.opening().and_then(|opening| opening.exercise.as_deref()) == Some(&exercise)
        };
        let best = records.iter().filter(is_at).filter_map(|record| match held_back(shop, record) {
            None => record.grade.as_ref().map(|grade| grade.total),
            Some(_) => None,
        });
        let best = best.reduce(f64::max).map_or("-".to_owned(), |best| shown(best, 0));
        screen.item(&format!("{best:>4}  "), &format!("{name}: {}", exercise.teaches));
    }
    screen.say(&format!(
        "The figure is the best grade of 100 that was made in this shop. Begin with:\n{}",
        command_in(shop, "practice read-the-needle")
    ));
    Ok(Status::Done)
}

/// Says by whom an exercise was handed out and by which rules; refuses a signer who goes by another's name.
pub(super) fn admit(shop: &Shop, exercise: &Exercise, screen: &mut Screen) -> Result<(), Failure> {
    let Some(HandedOut { by, attempts: allowed, is_held_back }) = &exercise.handed_out else { return Ok(()) };
    let standing = Trust::of(shop).map_err(Failure::wrong)?.standing(by);
    let told = format!(
        "{} was handed out by {}, {}",
        exercise.name,
        by.signer(),
        told_standing(Some(standing.clone()))
    );
    if matches!(standing, SignerStanding::OtherKey(_) | SignerStanding::OtherName(_)) {
        return Err(Failure::not_in_order(told));
    }
    screen.say(&format!("{told}."));
    if *is_held_back {
        screen.say("The truth and the grade are told by them, from the record that you hand in.");
    }
    if let Some(allowed) = allowed {
        screen.say(&format!("Each student may make {}.", so_many(*allowed, "attempt")));
    }
    Ok(())
}

/// An attempt at an exercise, beside which those of each student are counted.
pub(super) struct Counted {
    pub(super) attempts: Shop,
    pub(super) exercise: Exercise,
    pub(super) session: String,
}

impl Counted {
    /// Says which attempt of a student it is; fails where no more may be made.
    pub(super) fn admits(&self, name: &str) -> Result<Option<String>, String> {
        let allowed = self.exercise.handed_out.as_ref().and_then(|handed_out| handed_out.attempts);
        let Some(allowed) = allowed else { return Ok(None) };
        let made = made(&self.attempts, &self.exercise, name, &self.session);
        if made.len() < allowed as usize {
            return Ok(Some(format!(
                "This is attempt {} of {allowed} by {name} in this shop; one that is left or discarded counts.",
                made.len() + 1
            )));
        }
        Err(format!(
            "Of {}, a student may make {allowed}, and {name} has begun {} in this shop: {}. A parked one goes on with practice \
             --resume; park leaves this one, of which nothing stays.",
            self.exercise.name,
            made.len(),
            made.into_iter().collect::<Vec<_>>().join(", ")
        ))
    }
}

/// Returns the other attempts at an exercise that a student of this name has had a hand in, of those that this shop
/// still has anything of.
fn made(attempts: &Shop, exercise: &Exercise, name: &str, but: &str) -> BTreeSet<String> {
    let finished = attempts.record_names().unwrap_or_default();
    let finished =
        finished.iter().filter_map(|name| read(&attempts.record(name)).ok()).filter(made_here(attempts));
    let begun = attempts.journals_without_record();
    let begun = begun.iter().map(|path| Journal::events_in(path));
    let own = |events: Vec<Event>| match &events.first()?.what {
        What::Opened { opening }
            if opening.exercise.as_deref() == Some(exercise)
                && is_by(&events, name)
                && opening.session != but =>
        {
            Some(opening.session.clone())
        }
        _ => None,
    };
    finished.map(|record| record.journal).chain(begun).filter_map(own).collect()
}

/// Returns what tells attempts that were made in this shop from others' that it took in: these come
/// signed, by another key.
fn made_here(attempts: &Shop) -> impl Fn(&Record) -> bool {
    let keys = [Some(attempts.clone()), attempts.of_practice()].into_iter().flatten();
    let own: Vec<SignerKey> =
        keys.filter_map(|shop| OwnKey::of(&shop).ok().flatten()).map(|own| own.signer()).collect();
    move |record| record.signer.as_ref().is_none_or(|signer| own.contains(signer))
}

fn is_by(events: &[Event], name: &str) -> bool {
    events.iter().any(|event| match &event.what {
        What::Answered { question: Question { wants: Wants::Technician, .. }, answer: Answer::Text(by) }
        | What::TakenOver { technician: by } => heard(by) == heard(name),
        _ => false,
    })
}

/// Returns who alone shows the grade and the truth of an attempt: none where it is no such attempt, or the key that
/// handed the exercise out is in this shop.
fn held_back<'a>(shop: &Shop, record: &'a Record) -> Option<&'a HandedOut> {
    let handed_out = record.opening()?.exercise.as_deref()?.handed_out.as_ref()?;
    let is_own = teller(shop).is_some_and(|own| own == handed_out.by);
    (handed_out.is_held_back && !is_own).then_some(handed_out)
}

/// Returns as whom a shop hands exercises out, and so tells what it has others hold back; none where it has no key.
pub(in crate::cli) fn teller(shop: &Shop) -> Option<SignerKey> {
    let own = OwnKey::of(&shop.of_practice().unwrap_or(shop.clone())).ok().flatten();
    own.map(|own| own.signer())
}

/// Refuses to tell of an attempt what is held back.
pub(in crate::cli) fn refuse_held_back(shop: &Shop, record: &Record) -> Result<(), Failure> {
    match held_back(shop, record) {
        None => Ok(()),
        Some(HandedOut { by, .. }) => Err(Failure::wrong(format!(
            "what {} comes to is told by {}, who handed the exercise out: hand the record in",
            record.session, by.name
        ))),
    }
}
