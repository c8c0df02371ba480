use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::reading::plain;

/// Writes a file whole or not at all, in place of one that is there, and waits until it is on the disk. What is there
/// and no plain file, as a terminal or a pipe, is written to as it is.
pub(crate) fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let there = fs::metadata(path);
    if there.as_ref().is_ok_and(|there| !there.is_file() && !there.is_dir()) {
        return OpenOptions::new().write(true).open(path)?.write_all(bytes);
    }
    // Of a link that which it points to is replaced.
    let path = if there.is_ok() { &fs::canonicalize(path)? } else { path };
    let folder = folder_of(path);
    beside(&folder, bytes)?.persist(path).map_err(|error| error.error)?;
    sync_folder(&folder)
}

/// Writes a file whole or not at all, and waits until it is on the disk. It lies in `meanwhile`, a folder of the same
/// disk, until it is whole.
///
/// # Errors
/// Where a file of that name is there ([`ErrorKind::AlreadyExists`]), or the disk refuses.
pub(crate) fn write_new(path: &Path, bytes: &[u8], meanwhile: Option<&Path>) -> io::Result<()> {
    let folder = folder_of(path);
    let file = beside(meanwhile.unwrap_or(&folder), bytes)?;
    file.persist_noclobber(path).map_err(|error| error.error)?;
    sync_folder(&folder)
}

/// Opens a plain file to append to, or begins one.
pub(crate) fn append_to(path: &Path) -> io::Result<File> {
    Ok(plain(path, OpenOptions::new().create(true).append(true))?.0)
}

/// Makes a folder, and those above it, where they are not there; the names of new ones are on the disk then.
pub(crate) fn make_folder(folder: &Path) -> io::Result<()> {
    if folder.is_dir() {
        return Ok(());
    }
    let above = folder_of(folder);
    make_folder(&above)?;
    match fs::create_dir(folder) {
        Err(error) if error.kind() == ErrorKind::AlreadyExists && folder.is_dir() => Ok(()),
        made => made.and_then(|()| sync_folder(&above)),
    }
}

/// Removes these files and then their folder, unless something else lies in it: that stays, and the folder with it.
pub(crate) fn remove_folder_of(folder: &Path, files: &[&str]) -> io::Result<()> {
    for file in files {
        match fs::remove_file(folder.join(file)) {
            Err(error) if error.kind() != ErrorKind::NotFound => return Err(error),
            _ => {}
        }
    }
    match fs::remove_dir(folder) {
        Err(error) if error.kind() != ErrorKind::DirectoryNotEmpty => Err(error),
        _ => Ok(()),
    }
}

/// Waits until the names in a folder are on the disk; only some systems can, and need to.
pub(crate) fn sync_folder(folder: &Path) -> io::Result<()> {
    if cfg!(unix) { File::open(folder)?.sync_all() } else { Ok(()) }
}

fn folder_of(path: &Path) -> PathBuf {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        Some(_) => PathBuf::from("."),
        None => path.to_owned(),
    }
}

/// Writes a file under a name of its own, with the rights that any new file of this user gets.
fn beside(folder: &Path, bytes: &[u8]) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".unfinished-");
    #[cfg(unix)]
    let usual = <fs::Permissions as std::os::unix::fs::PermissionsExt>::from_mode(0o666);
    #[cfg(unix)]
    builder.permissions(usual);
    let mut file = builder.tempfile_in(folder).map_err(refused)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    Ok(file)
}

/// Says why a folder takes no file; the name that it would have had meanwhile is nobody's.
fn refused(error: io::Error) -> io::Error {
    let why = match error.kind() {
        ErrorKind::NotFound => "its folder is not there",
        ErrorKind::NotADirectory => "what it should lie in is no folder",
        ErrorKind::PermissionDenied => "nothing may be written in its folder",
        _ => return error,
    };
    io::Error::new(error.kind(), why)
}
