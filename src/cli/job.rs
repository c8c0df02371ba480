//! Jobs: what stands open, where one stands, and what the shop notes of it.

use std::collections::BTreeSet;

use clap::{Args, Subcommand};

use super::arguments::ShopFolder;
use super::indexed::brought_up;
use super::job_repairs::Repaired;
use super::job_screen::{noted_repair, show_all, show_one};
use super::open_sessions;
use super::sessions::now;
use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::history::{Index, JobStanding};
use crate::procedure::nearest;
use crate::record::{JobNote, LONGEST_JOB, Mode, Shop, forget_customer, job_notes, note_of_job, yes_or_no};

/// See what stands open, and note what is done for an order.
///
/// A job is what belongs to one order: guide --job NAME begins it with a test, job set with a customer. Without a
/// command behind it, job shows all that stands open, and job NAME where that one stands, circuit by circuit.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub(super) struct Jobs {
    /// Show where this job stands; all that stands open where none is named
    #[arg(value_name = "JOB", value_parser = job_name)]
    name: Option<String>,
    #[command(subcommand)]
    command: Option<JobCommand>,
}

#[derive(Debug, Subcommand)]
enum JobCommand {
    /// Say whose unit it is; a record does not hold that
    Set(JobSet),
    /// Note a repair that was really done; without --did, asks about each one that was decided on
    Repaired(Repaired),
    /// Close a job of which nothing more will come; a new test or note opens it again
    Close(JobClose),
    /// Take customer and vehicle out of all that was ever noted of a job
    Forget {
        /// The job
        #[arg(value_name = "JOB", value_parser = job_name)]
        name: String,
    },
    /// Take back what was noted last
    Undo {
        /// The job
        #[arg(value_name = "JOB", value_parser = job_name)]
        name: String,
    },
}

#[derive(Debug, Args)]
struct JobSet {
    /// The job, such as an order's number
    #[arg(value_name = "JOB", value_parser = job_name)]
    name: String,
    /// The customer, as the shop writes it; an empty text takes it out of reports
    #[arg(long, value_name = "TEXT", value_parser = noted, required_unless_present = "vehicle")]
    customer: Option<String>,
    /// The vehicle, as the shop writes it; an empty text takes it out
    #[arg(long, value_name = "TEXT", value_parser = noted)]
    vehicle: Option<String>,
}

#[derive(Debug, Args)]
struct JobClose {
    /// The job
    #[arg(value_name = "JOB", value_parser = job_name)]
    name: String,
    /// Why nothing more will come of it
    #[arg(long, value_name = "TEXT", value_parser = said)]
    why: String,
}

impl Jobs {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let Some(command) = self.command else {
            let shop = shop.open_to_read()?;
            let mut screen = Screen::stdout();
            match self.name {
                Some(name) => show_one(&mut screen, &shop, &known(&shop, &name)?),
                None => show_all(&mut screen, &shop, &all_open(&shop)?)?,
            }
            return Ok(Status::Done);
        };
        let shop = shop.open()?;
        match command {
            JobCommand::Set(set) => set.run(&shop),
            JobCommand::Repaired(repaired) => repaired.run(&shop),
            JobCommand::Close(close) => {
                known(&shop, &close.name)?;
                note(&shop, &close.name, JobNote::Closed { why: close.why })
            }
            JobCommand::Forget { name } => {
                known(&shop, &name)?;
                let told = match forget_customer(&shop, &name).map_err(Failure::wrong)? {
                    0 => "Neither customer nor vehicle was noted of it.",
                    _ => {
                        "Forgotten: customer and vehicle stand in no line of jobs.jsonl any more. Reports that were written, \
                          and copies of the folder, still have them."
                    }
                };
                Screen::stdout().say(told);
                Ok(Status::Done)
            }
            JobCommand::Undo { name } => {
                let standing = known(&shop, &name)?;
                match standing.notes.standing.last() {
                    Some((_, last)) => {
                        Screen::stdout().line(&format!("Taken back: {}", told(&standing, last)));
                        note(&shop, &name, JobNote::TakenBack)
                    }
                    None => Err(Failure::wrong(format!("nothing is noted of job {name}"))),
                }
            }
        }
    }
}

impl JobSet {
    fn run(self, shop: &Shop) -> Outcome {
        let customer = self.customer.map(|customer| JobNote::Customer { customer });
        let vehicle = self.vehicle.map(|vehicle| JobNote::Vehicle { vehicle });
        for noted in customer.into_iter().chain(vehicle) {
            note_of_job(shop, &self.name, now(), noted).map_err(Failure::wrong)?;
        }
        show_one(&mut Screen::stdout(), shop, &known(shop, &self.name)?);
        Ok(Status::Done)
    }
}

/// Tells a note in a line.
fn told(job: &JobStanding, note: &JobNote) -> String {
    match note {
        JobNote::Customer { customer } => format!("customer: {customer}"),
        JobNote::Vehicle { vehicle } => format!("vehicle: {vehicle}"),
        JobNote::Repaired { repair } => format!("repaired: {}", noted_repair(job, repair)),
        JobNote::Closed { why } => format!("closed: {why}"),
        // One that was taken back stands no more.
        JobNote::TakenBack => String::new(),
    }
}

/// Notes something, and shows where the job stands then.
pub(super) fn note(shop: &Shop, job: &str, noted: JobNote) -> Outcome {
    note_of_job(shop, job, now(), noted).map_err(Failure::wrong)?;
    show_one(&mut Screen::stdout(), shop, &known(shop, job)?);
    Ok(Status::Done)
}

/// Returns where a job stands that has a record, an open session or a note.
pub(super) fn known(shop: &Shop, name: &str) -> Result<JobStanding, Failure> {
    let (index, _) = brought_up(Index::open(shop, Mode::Bench)?, false)?;
    let mut notes = job_notes(shop).map_err(Failure::wrong)?;
    let tests = index.tests_of_job(name)?;
    let is_noted = notes.contains_key(name);
    if tests.is_empty() && !is_noted && open_sessions::of_job(shop, name).is_empty() {
        let known: BTreeSet<String> = index.jobs()?.into_iter().chain(notes.into_keys()).collect();
        let near = nearest(name, known.iter().map(String::as_str));
        let near = near.map(|near| format!(" Did you mean {near}?")).unwrap_or_default();
        return Err(Failure::wrong(format!(
            "there is no job \"{name}\".{near} guide --job begins one with a test, job set with a customer"
        )));
    }
    Ok(JobStanding::of(name, notes.remove(name).unwrap_or_default(), tests))
}

/// Returns where each job stands that has something still to be done or a session that is open, in the
/// order of the alphabet.
fn all_open(shop: &Shop) -> Result<Vec<JobStanding>, Failure> {
    let (index, _) = brought_up(Index::open(shop, Mode::Bench)?, false)?;
    let mut notes = job_notes(shop).map_err(Failure::wrong)?;
    let in_session = open_sessions::jobs(shop);
    let named = index.jobs()?.into_iter().chain(notes.keys().cloned()).chain(in_session.iter().cloned());
    let mut names: Vec<String> = named.collect();
    alphanumeric_sort::sort_str_slice(&mut names);
    names.dedup();
    let mut open = Vec::new();
    for name in names {
        let tests = index.tests_of_job(&name)?;
        let standing = JobStanding::of(&name, notes.remove(&name).unwrap_or_default(), tests);
        if standing.is_open() || in_session.contains(&name) {
            open.push(standing);
        }
    }
    Ok(open)
}

/// Reads what a job is known by: something to see, on one line, that a report has room for.
pub(super) fn job_name(text: &str) -> Result<String, String> {
    let fits = |text: &String| !text.is_empty() && text.chars().count() <= LONGEST_JOB;
    noted(text).ok().filter(fits).ok_or_else(|| format!("give one line of 1 to {LONGEST_JOB} characters"))
}

/// Reads a line that has to say something.
pub(super) fn said(text: &str) -> Result<String, String> {
    noted(text)
        .and_then(|text| if text.is_empty() { Err("say it in a few words".to_owned()) } else { Ok(text) })
}

/// Reads what a report can show: words, neither a bare yes or no nor a bare number.
pub(super) fn in_words(text: &str) -> Result<String, String> {
    let text = said(text)?;
    match yes_or_no(&text).is_none() && text.chars().any(char::is_alphabetic) {
        true => Ok(text),
        false => Err(format!("\"{text}\" says nothing in the report: say it in words")),
    }
}

/// Reads one line of text that a report has room for.
pub(super) fn noted(text: &str) -> Result<String, String> {
    const LONGEST: usize = 300;
    let text = text.trim();
    if text.chars().any(char::is_control) || text.chars().count() > LONGEST {
        return Err(format!("give one line of at most {LONGEST} characters"));
    }
    Ok(text.to_owned())
}
