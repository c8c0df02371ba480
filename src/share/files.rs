use std::fs::{self, File};
use std::io::{self, Write};
use std::path::Path;

use crate::record::readable_by_all;

/// Writes a file whole or not at all, in place of one that is there, and waits until it is on the disk.
pub(crate) fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut file = tempfile::Builder::new().prefix(".unfinished-").tempfile_in(folder)?;
    file.write_all(bytes)?;
    readable_by_all(file.as_file())?;
    file.as_file().sync_all()?;
    file.persist(path).map_err(|error| error.error)?;
    sync_folder(folder)
}

/// Reads a file of at most so many bytes.
pub(super) fn read_limited(path: &Path, most: u64) -> io::Result<Vec<u8>> {
    use std::io::Read;
    let about = fs::metadata(path)?;
    if !about.is_file() {
        return Err(io::Error::new(io::ErrorKind::InvalidInput, "is not a file"));
    }
    let mut bytes = Vec::new();
    File::open(path)?.take(most + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > most {
        return Err(io::Error::new(
            io::ErrorKind::FileTooLarge,
            format!("is larger than {} KiB", most / 1024),
        ));
    }
    Ok(bytes)
}

/// Waits until the names in a folder are on the disk; only some systems can, and need to.
#[cfg(unix)]
pub(super) fn sync_folder(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
pub(super) fn sync_folder(_: &Path) -> io::Result<()> {
    Ok(())
}
