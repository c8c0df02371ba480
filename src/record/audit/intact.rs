use std::io::{self, Write};

use super::journal::{entries, uncovered};
use crate::record::{Record, digest, fold, is_valid};

/// Returns the record where nothing at all is wrong with it. Which field is wrong where something is, this does not
/// ask; most records are as they were stored, and for those it is the short way.
pub(super) fn intact(bytes: &[u8]) -> Option<Record> {
    let record: Record = serde_json::from_slice(bytes).ok()?;
    let mut faults = Vec::new();
    entries(&record.journal, &mut faults);
    uncovered(&record, &mut faults);
    let again = Record { digest: record.digest.clone(), ..fold(&record.journal).ok()? };
    if !faults.is_empty() || again != record || !is_written_as(&record, bytes) {
        return None;
    }
    let value = serde_json::to_value(&record).ok()?;
    let is_sealed = record.digest.as_deref() == Some(&digest(&value));
    (is_sealed && is_valid(&value)).then_some(record)
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
