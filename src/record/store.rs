use std::fmt;
use std::fs::File;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::{Record, Shop, digest, validate};

/// Why a record could not be stored or read.
#[derive(Debug)]
pub enum StoreError {
    /// The disk refused.
    Io(PathBuf, io::Error),
    /// There is a different record of that name.
    Exists(PathBuf),
    /// The document breaks the schema.
    Invalid(Vec<String>),
    /// The document is no JSON of a record.
    Unreadable(PathBuf, String),
}

impl fmt::Display for StoreError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            StoreError::Io(path, error) => write!(f, "{}: {error}", path.display()),
            StoreError::Exists(path) => {
                write!(
                    f,
                    "{} exists and is a different record; a record is never overwritten",
                    path.display()
                )
            }
            StoreError::Invalid(breaches) => {
                write!(f, "the record breaks its schema: {}", breaches.join("; "))
            }
            StoreError::Unreadable(path, why) => write!(f, "{} is not a record: {why}", path.display()),
        }
    }
}

/// Returns a record as the document that is stored, its digest in place, and checks it against the schema.
///
/// # Errors
/// Where it breaks the schema.
pub fn document(record: &Record) -> Result<String, StoreError> {
    let unreadable = |error: serde_json::Error| StoreError::Invalid(vec![error.to_string()]);
    let sha256 = digest(record).map_err(unreadable)?;
    let stored = Record { digest: Some(sha256), ..record.clone() };
    validate(&serde_json::to_value(&stored).map_err(unreadable)?).map_err(StoreError::Invalid)?;
    let mut text = serde_json::to_string_pretty(&stored).map_err(unreadable)?;
    text.push('\n');
    Ok(text)
}

/// Puts a document into the shop's records under its session's name: whole and on the disk, or not at all. It is
/// written in the session's folder first, which goes when the session is finished, so that nothing half written stays.
///
/// The same document again is no error, so that a session which was killed after storing can be finished.
///
/// # Errors
/// Where the disk refuses or a different record has the name.
pub fn store(shop: &Shop, session: &str, document: &str) -> Result<PathBuf, StoreError> {
    let folder = shop.records();
    let path = folder.join(format!("{session}.json"));
    let failed = |error: io::Error| StoreError::Io(path.clone(), error);
    let mut file = tempfile::NamedTempFile::new_in(shop.session(session)).map_err(failed)?;
    file.write_all(document.as_bytes()).and_then(|()| file.as_file().sync_all()).map_err(failed)?;
    readable_by_all(file.as_file()).map_err(failed)?;
    match file.persist_noclobber(&path) {
        Ok(_) => File::open(&folder).and_then(|folder| folder.sync_all()).map_err(failed)?,
        Err(error) if error.error.kind() == io::ErrorKind::AlreadyExists => {
            if std::fs::read(&path).map_err(failed)? != document.as_bytes() {
                return Err(StoreError::Exists(path));
            }
        }
        Err(error) => return Err(failed(error.error)),
    }
    Ok(path)
}

/// Reads a record.
///
/// # Errors
/// Where the file cannot be read or is no record.
pub fn read(path: &Path) -> Result<Record, StoreError> {
    let text = std::fs::read_to_string(path).map_err(|error| StoreError::Io(path.to_owned(), error))?;
    serde_json::from_str(&text).map_err(|error| StoreError::Unreadable(path.to_owned(), error.to_string()))
}

/// A temporary file is readable by its owner only; a record is for the shop.
#[cfg(unix)]
fn readable_by_all(file: &File) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.set_permissions(std::fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn readable_by_all(_: &File) -> io::Result<()> {
    Ok(())
}
