use std::num::NonZero;
use std::path::{Path, PathBuf};
use std::thread;

use clap::Args;

use crate::cli::indexed::asked;
use crate::cli::open_sessions;
use crate::cli::status::{Failure, Status};
use crate::console::{Progress, Screen};
use crate::record::{Mode, Shop, across, is_meant_by, names_of_documents, read};
use crate::session::{Audit, Auditor};

/// Records named on the command line.
#[derive(Debug, Args)]
pub(super) struct ChosenRecords {
    /// Sessions' names, jobs, records' files or folders of them; all records of the shop where none is named
    #[arg(value_name = "RECORD")]
    records: Vec<PathBuf>,
}

impl ChosenRecords {
    pub(super) fn is_all(&self) -> bool {
        self.records.is_empty()
    }

    pub(super) fn paths(&self, shop: &Shop) -> Result<Vec<PathBuf>, Failure> {
        if self.records.is_empty() {
            let names = shop.record_names().map_err(Failure::wrong)?;
            return Ok(names.iter().map(|name| shop.record(name)).collect());
        }
        let mut paths = Vec::new();
        for named in &self.records {
            let of_job =
                if named.is_file() { Vec::new() } else { sessions_of_job(shop, &named.to_string_lossy()) };
            if !of_job.is_empty() {
                paths.extend(of_job.iter().map(|name| shop.record(name)));
            } else if named.is_dir() {
                let names = names_of_documents(named).map_err(Failure::wrong)?;
                if names.is_empty() {
                    return Err(Failure::wrong(format!(
                        "there are no records in the folder {}",
                        named.display()
                    )));
                }
                paths.extend(names.iter().map(|name| named.join(format!("{name}.json"))));
            } else {
                paths.push(path(shop, Some(named))?);
            }
        }
        Ok(paths)
    }
}

/// Finds a record by its session, which may be an attempt at an exercise, its job or its file; the latest of the shop
/// where none is named.
pub(super) fn path(shop: &Shop, named: Option<&Path>) -> Result<PathBuf, Failure> {
    let Some(named) = named else {
        let names = shop.record_names().map_err(Failure::wrong)?;
        let latest = names.last().ok_or_else(|| Failure::wrong("there are no records yet"))?;
        return Ok(shop.record(latest));
    };
    if named.is_file() {
        return Ok(named.to_owned());
    }
    let name = named.to_string_lossy();
    session(shop, &name).map(|session| shop.record(&session)).or_else(|failure| {
        let attempts = shop.of_mode(Mode::Practice).map_err(Failure::wrong)?;
        session(&attempts, &name).map(|session| attempts.record(&session)).map_err(|_| failure)
    })
}

/// Finds the records that are meant together: all of a job that count, in the order of their tests; else the one of a
/// session or a file. Where none is named, the latest and its job are.
pub(in crate::cli) fn reported(shop: &Shop, named: Option<&Path>) -> Result<Vec<PathBuf>, Failure> {
    let of_job = |job: &str| -> Vec<PathBuf> {
        sessions_of_job(shop, job).iter().map(|session| shop.record(session)).collect()
    };
    let records = match named {
        None => {
            let latest = path(shop, None)?;
            let job = read(&latest).ok().and_then(|record| record.job);
            job.map(|job| of_job(&job)).filter(|records| records.contains(&latest)).unwrap_or_default()
        }
        Some(named) if named.is_file() => Vec::new(),
        Some(named) => match named.to_str() {
            Some(name) if !shop.record(name.trim_end_matches(".json")).is_file() => of_job(name),
            _ => Vec::new(),
        },
    };
    if records.is_empty() { Ok(vec![path(shop, named)?]) } else { Ok(records) }
}

/// Finds the session of a record in the shop by its name, or by the job: the latest of it.
pub(in crate::cli) fn session(shop: &Shop, named: &str) -> Result<String, Failure> {
    let name = named.trim_end_matches(".json");
    if shop.record(name).is_file() {
        return Ok(name.to_owned());
    }
    let of_job = sessions_of_job(shop, named);
    let begun: Vec<String> = match of_job.is_empty() {
        true => shop
            .record_names()
            .unwrap_or_default()
            .into_iter()
            .filter(|known| is_meant_by(known, name))
            .collect(),
        false => Vec::new(),
    };
    if let [only] = begun.as_slice() {
        return Ok(only.clone());
    }
    let Some((latest, earlier)) = of_job.split_last() else {
        if let Some(told) = open_sessions::told_of(shop, name) {
            return Err(Failure::wrong(told));
        }
        let like = match begun.len() {
            0 => String::new(),
            n => format!(" {n} may be meant, as {}.", begun[n - 1]),
        };
        return Err(Failure::wrong(format!(
            "there is no record and no job \"{name}\".{like} records list names them"
        )));
    };
    if !earlier.is_empty() {
        let told = format!(
            "Job {named} has {} records; this is the latest. Earlier: {}.",
            of_job.len(),
            earlier.join(", ")
        );
        Screen::stderr().say(&told);
    }
    Ok(latest.clone())
}

/// Returns the sessions of a job that count, the one that was tested last at the end; none where the
/// index can't be asked.
fn sessions_of_job(shop: &Shop, job: &str) -> Vec<String> {
    let tests = asked(shop, |index| index.tests_of_job(job)).unwrap_or_default();
    tests.into_iter().map(|test| test.session).collect()
}

/// Does a piece of work for each record on all cores, and shows how far it is. One of which that can't be done must not
/// hide the others: it is said why, and the status tells.
pub(super) fn of_each<I: Sync, S: Default, T: Send>(
    title: &'static str,
    items: &[I],
    work: impl Fn(&mut S, &I) -> Result<T, Failure> + Sync,
) -> (Vec<T>, Status) {
    let progress = Progress::new(title, items.len());
    let done = across(items, S::default, |own, item| {
        let done = work(own, item);
        progress.step();
        done
    });
    drop(progress);
    parted(done)
}

/// Audits records on all cores and makes something of each audit, as [`of_each`] does.
pub(super) fn audited<T: Send>(
    paths: &[PathBuf],
    make: impl Fn(&Path, Audit) -> Result<T, Failure> + Sync,
) -> (Vec<T>, Status) {
    /// So many times as many groups as cores, so that all have work to the end.
    const GROUPS: usize = 4;
    let n_cores = thread::available_parallelism().map_or(1, NonZero::get);
    let groups: Vec<&[PathBuf]> =
        paths.chunks(paths.len().div_ceil(GROUPS * n_cores).clamp(1, Auditor::AT_A_TIME)).collect();
    let progress = Progress::new("records audited", paths.len());
    let made = across(&groups, Auditor::default, |auditor, group| {
        let made = auditor.audit_files(group, |path, audit| make(path, audit.map_err(Failure::wrong)?));
        group.iter().for_each(|_| progress.step());
        made
    });
    drop(progress);
    parted(made.into_iter().flatten())
}

/// Parts what could be done from what could not, which is reported.
fn parted<T>(done: impl IntoIterator<Item = Result<T, Failure>>) -> (Vec<T>, Status) {
    let mut status = Status::Done;
    let mut sound = Vec::new();
    for done in done {
        match done {
            Ok(done) => sound.push(done),
            Err(failure) => status = status.max(failure.report()),
        }
    }
    (sound, status)
}
