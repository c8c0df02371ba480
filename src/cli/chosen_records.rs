use std::path::{Path, PathBuf};

use clap::Args;

use super::status::Failure;
use crate::record::Shop;

/// Records named on the command line.
#[derive(Debug, Args)]
pub(super) struct ChosenRecords {
    /// Sessions' names or records' files; all records of the shop where none is named
    #[arg(value_name = "RECORD")]
    records: Vec<PathBuf>,
}

impl ChosenRecords {
    /// Returns the files of the chosen records.
    pub(super) fn paths(&self, shop: &Shop) -> Result<Vec<PathBuf>, Failure> {
        if self.records.is_empty() {
            let names = shop.record_names().map_err(Failure::wrong)?;
            return Ok(names.iter().map(|name| shop.records().join(format!("{name}.json"))).collect());
        }
        self.records.iter().map(|named| path(shop, named)).collect()
    }
}

/// Finds a record by its session or its file.
pub(super) fn path(shop: &Shop, named: &Path) -> Result<PathBuf, Failure> {
    if named.is_file() {
        return Ok(named.to_owned());
    }
    let name = named.to_string_lossy();
    let in_shop = shop.records().join(format!("{}.json", name.trim_end_matches(".json")));
    if in_shop.is_file() {
        return Ok(in_shop);
    }
    Err(Failure::wrong(format!("there is no record \"{name}\"; records list names them")))
}
