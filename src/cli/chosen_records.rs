use std::path::{Path, PathBuf};

use clap::Args;

use super::indexed::indexed;
use super::status::Failure;
use crate::console::Screen;
use crate::record::Shop;

/// Records named on the command line.
#[derive(Debug, Args)]
pub(super) struct ChosenRecords {
    /// Sessions' names, jobs or records' files; all records of the shop where none is named
    #[arg(value_name = "RECORD")]
    records: Vec<PathBuf>,
}

impl ChosenRecords {
    /// Returns whether all records of the shop are meant.
    pub(super) fn is_all(&self) -> bool {
        self.records.is_empty()
    }

    /// Returns the files of the chosen records.
    pub(super) fn paths(&self, shop: &Shop) -> Result<Vec<PathBuf>, Failure> {
        if self.records.is_empty() {
            let names = shop.record_names().map_err(Failure::wrong)?;
            return Ok(names.iter().map(|name| shop.records().join(format!("{name}.json"))).collect());
        }
        self.records.iter().map(|named| path(shop, named)).collect()
    }
}

/// Finds a record by its session, its job or its file.
pub(super) fn path(shop: &Shop, named: &Path) -> Result<PathBuf, Failure> {
    if named.is_file() {
        return Ok(named.to_owned());
    }
    let session = session(shop, &named.to_string_lossy())?;
    Ok(shop.records().join(format!("{session}.json")))
}

/// Finds the session of a record in the shop by its name, or by the job: the latest of it.
pub(super) fn session(shop: &Shop, named: &str) -> Result<String, Failure> {
    let name = named.trim_end_matches(".json");
    if shop.records().join(format!("{name}.json")).is_file() {
        return Ok(name.to_owned());
    }
    let of_job = indexed(shop, false)
        .ok()
        .and_then(|(index, _)| index.sessions_of_job(named).ok())
        .unwrap_or_default();
    let Some((latest, earlier)) = of_job.split_last() else {
        return Err(Failure::wrong(format!(
            "there is no record and no job \"{name}\"; records list names them"
        )));
    };
    if !earlier.is_empty() {
        let told = format!(
            "Job {named} has {} records; this is the latest. Earlier: {}.",
            of_job.len(),
            earlier.join(", ")
        );
        Screen::stderr().paragraph(0, &told);
    }
    Ok(latest.clone())
}
