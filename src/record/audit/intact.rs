use std::io::{self, Write};

use serde::Deserialize;

use super::journal::{entries, uncovered};
use crate::record::{Event, Record, digest, fold, is_valid};

/// What a record is made of, and its seal; all else in it follows.
#[derive(Deserialize)]
struct Stated {
    journal: Vec<Event>,
    digest: Option<String>,
}

/// Returns the record where nothing at all is wrong with it: where what follows from its journal is, byte by byte, what
/// is stored. Which field is wrong where something is, this does not ask; most records are as they were stored, and for
/// those it is the short way.
pub(super) fn intact(bytes: &[u8]) -> Option<Record> {
    let stated: Stated = serde_json::from_slice(bytes).ok()?;
    let mut faults = Vec::new();
    entries(&stated.journal, &mut faults);
    let record = Record { digest: stated.digest, ..fold(&stated.journal).ok()? };
    uncovered(&record, &mut faults);
    if !faults.is_empty() || !is_written_as(&record, bytes) {
        return None;
    }
    let is_sealed = record.digest == Some(digest(&record).ok()?);
    (is_sealed && is_valid(&serde_json::to_value(&record).ok()?)).then_some(record)
}

/// Whether these are the bytes that the record is stored as.
fn is_written_as(record: &Record, bytes: &[u8]) -> bool {
    let mut rest = Rest(bytes);
    serde_json::to_writer_pretty(&mut rest, record).is_ok() && rest.0 == b"\n"
}

/// What is left of the bytes that a text is compared with while it is written.
struct Rest<'a>(&'a [u8]);

impl Write for Rest<'_> {
    fn write(&mut self, written: &[u8]) -> io::Result<usize> {
        self.0 = self.0.strip_prefix(written).ok_or(io::ErrorKind::InvalidData)?;
        Ok(written.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}
