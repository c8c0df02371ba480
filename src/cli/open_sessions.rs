//! The sessions that have begun and are not finished: told of, found by their name or their job, and chosen from.

use super::arguments::resume_command;
use super::status::Failure;
use crate::console::Screen;
use crate::disk::LogError;
use crate::quantity::so_many;
use crate::record::{Opening, Shop, is_meant_by};
use crate::session::{Enter, Journal, Plain, Prompt, Said, Stopped, screens};

/// Returns the name of the session that is meant: named, begun like that, or of that job; chosen at the prompt where
/// nothing is named and there are several.
pub(super) fn found(shop: &Shop, named: Option<&str>, prompt: &mut Prompt) -> Result<String, Failure> {
    let names = shop.open_names().map_err(Failure::wrong)?;
    let Some(named) = named else {
        return match names.as_slice() {
            [] => Err(Failure::wrong("there is no open session; begin one with guide PROCEDURE")),
            [only] => Ok(only.clone()),
            several => chosen(shop, several, prompt),
        };
    };
    match meant(shop, &names, named)?.as_slice() {
        [] => Err(not_open(&names, named)),
        [only] => Ok(only.clone()),
        several => chosen(shop, several, prompt),
    }
}

/// Returns the open sessions that can be meant: the one of that name, else those of that job, else those whose name
/// begins or ends like that.
fn meant(shop: &Shop, names: &[String], named: &str) -> Result<Vec<String>, Failure> {
    // The name of a finished one can be how that of another begins.
    if shop.record(named).is_file() {
        return Err(Failure::wrong(format!("there is no open session \"{named}\": it is finished")));
    }
    let fitting = |fits: &dyn Fn(&String) -> bool| -> Vec<String> {
        names.iter().filter(|name| fits(name)).cloned().collect()
    };
    let ways: [&dyn Fn(&String) -> bool; 3] =
        [&|name| name == named, &|name| is_of_job(shop, name, named), &|name| is_meant_by(name, named)];
    Ok(ways.iter().map(|way| fitting(way)).find(|found| !found.is_empty()).unwrap_or_default())
}

/// Says that a session of that name or job is open, and how to go on with it; nothing where none is.
pub(super) fn told_of(shop: &Shop, named: &str) -> Option<String> {
    let names = shop.open_names().ok()?;
    let name = names.iter().rev().find(|name| *name == named || is_of_job(shop, name, named))?;
    Some(format!(
        "{name} is open, so there is no record of it yet; go on with it:\n{}",
        resume_command(shop, name)
    ))
}

/// Returns the open sessions of a job.
pub(super) fn of_job(shop: &Shop, job: &str) -> Vec<String> {
    let names = shop.open_names().unwrap_or_default();
    names.into_iter().filter(|name| is_of_job(shop, name, job)).collect()
}

/// Returns the jobs that open sessions belong to.
pub(super) fn jobs(shop: &Shop) -> Vec<String> {
    let names = shop.open_names().unwrap_or_default();
    names.iter().filter_map(|name| opening(shop, name)?.job).collect()
}

fn is_of_job(shop: &Shop, name: &str, job: &str) -> bool {
    opening(shop, name).is_some_and(|opening| opening.job.as_deref() == Some(job))
}

/// Returns the one open session that can be meant: it is to be changed, so nothing is asked or guessed
/// where there are several.
pub(super) fn found_alone(shop: &Shop, named: &str) -> Result<String, Failure> {
    let open = shop.open_names().map_err(Failure::wrong)?;
    match meant(shop, &open, named)?.as_slice() {
        [] => Err(not_open(&open, named)),
        [only] => Ok(only.clone()),
        several => Err(Failure::wrong(format!(
            "several open sessions are meant by \"{named}\"; name one: {}",
            several.join(", ")
        ))),
    }
}

fn not_open(open: &[String], named: &str) -> Failure {
    let known = match open {
        [] => "no session is open".to_owned(),
        open => format!("open are: {}", open.join(", ")),
    };
    Failure::wrong(format!("there is no open session and none of a job \"{named}\"; {known}"))
}

/// Asks which one, the latest first.
fn chosen(shop: &Shop, names: &[String], prompt: &mut Prompt) -> Result<String, Failure> {
    let screen = &mut prompt.screen;
    screen.paragraph(screens::INDENT, "Several sessions are open:");
    for (n, name) in names.iter().rev().enumerate() {
        screen.item(&format!("{:>8} ", n + 1), &format!("{name}: {}", stands(shop, name)));
    }
    let question = Plain {
        words: "       which",
        help: "Type the number of the session to go on with.",
        enter: Enter::Refused("Type a number, or park to leave all as they are."),
    };
    let read = |line: &str| {
        let n = line.parse::<usize>().ok().filter(|n| (1..=names.len()).contains(n));
        n.map(|n| names[names.len() - n].clone())
            .ok_or_else(|| format!("Type a number from 1 to {}.", names.len()))
    };
    match prompt.ask_plainly(&question, &[], read) {
        Ok(Said::Answer(name)) => Ok(name),
        Ok(_) | Err(Stopped::Left | Stopped::Ended) => Err(Failure::paused(
            "No session was taken up, all are as they were; one is named behind --resume",
        )),
        Err(why) => Err(Failure::wrong(why)),
    }
}

/// Says which sessions of the same unit are open, so that one that is parked is not begun a second time unseen.
pub(super) fn remind(screen: &mut Screen, shop: &Shop, unit: Option<&str>) {
    let Some(unit) = unit else { return };
    let is_of_unit = |name: &String| {
        opening(shop, name).is_some_and(|opening| opening.procedure.unit.as_deref() == Some(unit))
    };
    for name in shop.open_names().unwrap_or_default().iter().filter(|name| is_of_unit(name)) {
        let told = format!("{name} is {}. To go on with that instead, park this one:", stands(shop, name));
        screen.paragraph(screens::INDENT, &told);
        screen.paragraph(screens::INDENT, &resume_command(shop, name));
    }
}

fn opening(shop: &Shop, name: &str) -> Option<Opening> {
    Journal::opening(&shop.journal(name))
}

/// Shows an open session in a line, and how it goes on.
pub(super) fn show_open(screen: &mut Screen, shop: &Shop, name: &str) {
    screen.item(&format!("{name}  "), &format!("{}; go on with:", stands(shop, name)));
    screen.line(&format!("  {}", resume_command(shop, name)));
}

/// Says how far a session has come, whose it is and what it amends.
pub(super) fn stands(shop: &Shop, name: &str) -> String {
    let journal = match Journal::open(&shop.journal(name)) {
        Ok(journal) => journal,
        Err(LogError::InUse(_)) => return "open in another program".to_owned(),
        Err(error) => return format!("open, but {error}"),
    };
    let (mut n, mut at) = (0, None);
    for (_, question, _) in journal.standing() {
        n += 1;
        at = question.circuit.as_ref().map(|circuit| format!("last at {circuit}"));
    }
    let opening = opening(shop, name);
    let of_opening = opening.iter().flat_map(|opening| {
        [
            opening.procedure.unit.clone(),
            opening.job.as_ref().map(|job| format!("job {job}")),
            opening.amends.as_ref().map(|amends| format!("amends {}", amends.earlier.session)),
        ]
    });
    let answers = match n {
        0 => "nothing answered yet".to_owned(),
        n => so_many(n, "answer"),
    };
    let parts = [Some("open".to_owned())].into_iter().chain(of_opening).chain([Some(answers), at]);
    parts.flatten().collect::<Vec<_>>().join(", ")
}
