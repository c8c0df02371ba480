use std::fs::File;
use std::io;
use std::path::Path;

use super::sync_folder;

/// The right to change the files of a folder, which one program has at a time; it ends with this value. Where the file
/// system has no locks, nobody is kept out.
pub(crate) struct Alone {
    _folder: Option<File>,
}

impl Alone {
    /// Waits until no other program changes files of this folder.
    pub(crate) fn in_folder(folder: &Path) -> io::Result<Alone> {
        sync_folder(folder)?;
        let folder = File::open(folder).ok();
        Ok(Alone { _folder: folder.filter(|folder| folder.lock().is_ok()) })
    }
}
