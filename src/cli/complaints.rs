//! What a customer says, and the circuits that can cause it.

use std::path::Path;

use super::arguments::outline;
use super::status::Failure;
use crate::console::Screen;
use crate::disk::{LARGEST_SETTINGS, read_text};
use crate::procedure::Program;
use crate::record::{Circuit, Plan, Sayings, Shop, complaints_in, nearest_symptoms};
use crate::session::screens;

/// Plans from complaints as people say them: in a procedure's own words, or in those that the table of sayings knows.
pub(super) fn from_complaints(
    shop: &Shop,
    program: &Program,
    named: &Path,
    given: &[String],
) -> Result<Plan, Failure> {
    let circuits = &outline(program)?.circuits;
    let sayings = sayings(shop)?;
    let mut screen = Screen::stdout();
    let complaints: Vec<String> = given.iter().flat_map(|given| complaints_in(given)).collect();
    let (mut sought, mut elsewhere) = (Vec::new(), Vec::new());
    let not_covered = |complaint: &str| not_covered(complaint, &sayings, circuits, named, program);
    for complaint in &complaints {
        let covers = |words: &String| Plan::from_complaints(std::slice::from_ref(words), circuits).is_ok();
        let meant: Vec<String> = match covers(complaint) {
            true => vec![complaint.clone()],
            false => sayings.meant(complaint).into_iter().filter(covers).collect(),
        };
        let reports = sayings.of(complaint).map(|saying| saying.reports.as_str()).unwrap_or_default();
        if meant.is_empty() && reports.is_empty() {
            return Err(not_covered(complaint));
        }
        let reports = if reports.is_empty() { String::new() } else { format!(" ({reports})") };
        if meant.is_empty() {
            elsewhere
                .push(format!("\"{complaint}\"{reports}: no circuit of this procedure is named for it."));
        } else if meant != [complaint.clone()] {
            let told = format!("\"{complaint}\"{reports} is looked for as: {}.", meant.join("; "));
            screen.paragraph(screens::INDENT, &told);
        }
        sought.extend(meant.into_iter().filter(|words| !sought.contains(words)).collect::<Vec<_>>());
    }
    if sought.is_empty() {
        return Err(not_covered(&complaints.join(", ")));
    }
    elsewhere.iter().for_each(|told| screen.paragraph(screens::INDENT, told));
    let plan = Plan::from_complaints(&sought, circuits);
    let plan = plan.map_err(|missed| not_covered(&missed.join("; ")))?;
    Ok(plan.given_as(&complaints))
}

/// Reads what a shop's customers say, before what customers say anywhere.
pub(super) fn sayings(shop: &Shop) -> Result<Sayings, Failure> {
    let path = shop.sayings();
    let own = match read_text(&path, LARGEST_SETTINGS) {
        Ok(text) => Some(text),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => None,
        Err(error) => return Err(Failure::file(&path, &error)),
    };
    Sayings::with(own.as_deref()).map_err(|error| Failure::file(&path, &error))
}

fn not_covered(
    complaint: &str,
    sayings: &Sayings,
    circuits: &[Circuit],
    named: &Path,
    program: &Program,
) -> Failure {
    const MOST: usize = 3;
    let mut known: Vec<_> =
        circuits.iter().flat_map(|circuit| &circuit.symptoms).map(String::as_str).collect();
    known.sort_unstable();
    known.dedup();
    let reports = sayings.of(complaint).map(|saying| saying.reports.as_str()).unwrap_or_default();
    let reports = if reports.is_empty() { String::new() } else { format!(" The code reports: {reports}.") };
    let missed = format!("no circuit of this procedure covers \"{complaint}\".{reports}");
    if known.is_empty() {
        return Failure::wrong(format!("{missed} It tests no complaints: leave --complaint out"));
    }
    let name = &program.identity().id;
    let file = match named.is_file() {
        true => format!("--file {} ", named.display()),
        false => String::new(),
    };
    let near = nearest_symptoms(complaint, &known, MOST);
    Failure::wrong(format!(
        "{missed} Nearest to it: {}. All that it knows:\nspoolproof procedures {file}{name}",
        near.join(", ")
    ))
}
