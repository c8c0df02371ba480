use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;

use super::pack::{LARGEST_PACK, Pack, PackError};
use super::version::Version;
use crate::disk::{make_folder, read, sync_folder, write_whole};
use crate::procedure::is_plain_name;
use crate::record::Shop;

/// Name of the pack in the folder of an installed version.
const PACK: &str = "pack.json";

/// Why an installed procedure cannot be used.
#[derive(Debug, Error)]
pub(crate) enum InstalledError {
    #[error("{}: {source}", path.display())]
    Io { path: PathBuf, source: io::Error },
    #[error("{}: {source}", path.display())]
    Pack { path: PathBuf, source: PackError },
    #[error(
        "{} has been altered since it was signed; to change a procedure, copy its files to a folder of your own, raise the \
         version, and give it by its path",
        .0.display()
    )]
    Altered(PathBuf),
    #[error("{} is not the procedure and version of its folder", .0.display())]
    Misplaced(PathBuf),
    #[error("{} exists already", .0.display())]
    Exists(PathBuf),
}

/// Returns the procedures that are installed in a shop, each with its versions, oldest first.
pub(crate) fn installed(shop: &Shop) -> Result<Vec<(String, Version)>, InstalledError> {
    let mut found = Vec::new();
    for id in folders(&shop.procedures())?.into_iter().filter(|id| is_plain_name(id)) {
        for version in folders(&shop.procedures().join(&id))? {
            found.extend(version.parse().map(|version| (id.clone(), version)));
        }
    }
    found.sort();
    Ok(found)
}

/// Opens an installed procedure: verifies its pack again, and that the files beside it are those that were signed.
pub(crate) fn open_installed(shop: &Shop, id: &str, version: Version) -> Result<Pack, InstalledError> {
    let folder = folder(shop, id, version);
    let path = folder.join(PACK);
    let (pack, _) = Pack::open(&path).map_err(|error| match error {
        PackError::Io(source) => InstalledError::Io { path: path.clone(), source },
        source => InstalledError::Pack { path: path.clone(), source },
    })?;
    if pack.id() != id || pack.version() != version {
        return Err(InstalledError::Misplaced(path));
    }
    for file in pack.contents() {
        let path = folder.join(file.name);
        if read(&path, LARGEST_PACK).ok() != Some(file.bytes) {
            return Err(InstalledError::Altered(path));
        }
    }
    Ok(pack)
}

/// Installs a pack beside all versions that are there: whole, or not at all. Returns its folder.
///
/// The pack is kept to the byte, as it was received; beside it lie its files, to be read and copied.
pub(crate) fn install(shop: &Shop, pack: &Pack, bytes: &[u8]) -> Result<PathBuf, InstalledError> {
    let folder = folder(shop, pack.id(), pack.version());
    if folder.exists() {
        return Err(InstalledError::Exists(folder));
    }
    put(&folder, shop, pack, bytes).map_err(|source| InstalledError::Io { path: folder.clone(), source })?;
    Ok(folder)
}

fn put(folder: &Path, shop: &Shop, pack: &Pack, bytes: &[u8]) -> io::Result<()> {
    let above = folder.parent().unwrap_or(Path::new("."));
    make_folder(above)?;
    let unfinished = tempfile::Builder::new().prefix(".unfinished-").tempdir_in(shop.procedures())?;
    write_whole(&unfinished.path().join(PACK), bytes)?;
    for file in pack.contents() {
        write_whole(&unfinished.path().join(file.name), &file.bytes)?;
    }
    readable_folder(unfinished.path())?;
    fs::rename(unfinished.path(), folder)?;
    // What was renamed is no longer there to be removed.
    let _ = unfinished.keep();
    sync_folder(above)
}

fn folder(shop: &Shop, id: &str, version: Version) -> PathBuf {
    shop.procedures().join(id).join(version.to_string())
}

fn folders(folder: &Path) -> Result<Vec<String>, InstalledError> {
    let failed = |source| InstalledError::Io { path: folder.to_owned(), source };
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(failed(error)),
    };
    let mut found = Vec::new();
    for entry in entries {
        let entry = entry.map_err(failed)?;
        if entry.path().is_dir() {
            found.extend(entry.file_name().into_string().ok());
        }
    }
    Ok(found)
}

/// A temporary folder is its owner's alone; an installed procedure is for the shop.
#[cfg(unix)]
fn readable_folder(folder: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    fs::set_permissions(folder, fs::Permissions::from_mode(0o755))
}

#[cfg(not(unix))]
fn readable_folder(_: &Path) -> io::Result<()> {
    Ok(())
}
