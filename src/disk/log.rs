use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use serde::de::IgnoredAny;
use thiserror::Error;

use super::{LARGEST_DOCUMENT, plain, read, sync_folder};

/// A file that is only appended to, one JSON document a line: each line is on the disk before [`Log::append`] returns,
/// and one program at a time has it open.
#[derive(Debug)]
pub(crate) struct Log {
    path: PathBuf,
    file: File,
}

#[derive(Debug, Error)]
pub(crate) enum LogError {
    #[error("{}: {}", .0.display(), .1)]
    Io(PathBuf, io::Error),
    #[error("{} is open in another program; finish or park it there first", .0.display())]
    InUse(PathBuf),
    /// A line before the last is damaged; those before it are intact.
    #[error("{} is damaged at line {line} ({why}). The {} lines before it are intact", path.display(), line - 1)]
    Damaged {
        path: PathBuf,
        /// The line, from 1.
        line: usize,
        why: String,
    },
}

impl Log {
    pub(crate) fn create(path: &Path) -> Result<Log, LogError> {
        let failed = |error| LogError::Io(path.to_owned(), error);
        let file = OpenOptions::new().append(true).create_new(true).open(path).map_err(failed)?;
        let log = Log::locked(path, file)?;
        path.parent().map_or(Ok(()), sync_folder).map_err(failed)?;
        Ok(log)
    }

    /// Opens a log, and gives each of its lines to `entry_of`.
    ///
    /// A last line that was cut off while it was written was never acknowledged; it is removed.
    ///
    /// # Errors
    /// Where the file can't be read, or `entry_of` says what is wrong with a line: then it stays as it is.
    pub(crate) fn open<T>(
        path: &Path,
        mut entry_of: impl FnMut(&[u8]) -> Result<T, String>,
    ) -> Result<(Log, Vec<T>), LogError> {
        let failed = |error| LogError::Io(path.to_owned(), error);
        let (file, _) = plain(path, OpenOptions::new().append(true).read(true)).map_err(failed)?;
        let mut log = Log::locked(path, file)?;
        let bytes = read(path, LARGEST_DOCUMENT).map_err(failed)?;
        let (mut entries, mut intact) = (Vec::new(), 0);
        for line in bytes.split_inclusive(|byte| *byte == b'\n') {
            let text = line.strip_suffix(b"\n").unwrap_or(line);
            let is_whole = text.len() < line.len();
            match entry_of(text) {
                Ok(entry) => entries.push(entry),
                Err(_) if !is_whole && is_cut(text) => break,
                Err(why) => {
                    return Err(LogError::Damaged { path: path.to_owned(), line: entries.len() + 1, why });
                }
            }
            if !is_whole {
                // Whole but for its line feed: give it that, so that the next line starts on its own.
                log.file.write_all(b"\n").map_err(failed)?;
            }
            intact += line.len();
        }
        if intact < bytes.len() {
            log.file.set_len(intact as u64).and_then(|()| log.file.sync_all()).map_err(failed)?;
        }
        Ok((log, entries))
    }

    /// Appends a line and waits until it is on the disk.
    ///
    /// # Errors
    /// Where the disk refuses; the line then does not count as taken.
    pub(crate) fn append(&mut self, line: &str) -> Result<(), LogError> {
        let failed = |error| LogError::Io(self.path.clone(), error);
        // A file that was removed, or went with its disk, still takes what is written, and keeps none of it.
        std::fs::metadata(&self.path).map_err(failed)?;
        let before = self.file.metadata().map_err(failed)?.len();
        let written = self.file.write_all(format!("{line}\n").as_bytes());
        written.and_then(|()| self.file.sync_data()).map_err(|error| {
            // Half a line must not stay in front of a later one.
            let _ = self.file.set_len(before);
            failed(error)
        })
    }

    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    /// Takes the file for this program alone, until it ends. Where the file system has no locks, nobody is kept out.
    fn locked(path: &Path, file: File) -> Result<Log, LogError> {
        match file.try_lock() {
            Err(TryLockError::WouldBlock) => Err(LogError::InUse(path.to_owned())),
            _ => Ok(Log { path: path.to_owned(), file }),
        }
    }
}

/// Returns whether a line without its line feed was cut off while it was written: it ends before its document does, or
/// in the zeros of a disk that lost its power. Anything else has been damaged, and may have been acknowledged.
fn is_cut(bytes: &[u8]) -> bool {
    bytes.contains(&0) || serde_json::from_slice::<IgnoredAny>(bytes).is_err_and(|error| error.is_eof())
}
