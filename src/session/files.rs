use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::disk::{self, LARGEST_SETTINGS, remove_folder_of, write_new};
use crate::procedure::{Fault, Source};
use crate::record::{FileDigest, JOURNAL, ORIGIN, ProcedureIdentity, Shop};

/// Keeps a procedure's files in the shop under their digests, so that its sessions can be resumed and its records
/// amended and audited whatever becomes of the originals.
pub(crate) fn keep_files(shop: &Shop, session: &str, source: &Source) -> io::Result<()> {
    for file in &source.files {
        let path = kept(shop, &file.sha256);
        if path.exists() {
            continue;
        }
        // In the session's folder, which goes when it is finished, so that nothing half written stays anywhere.
        match write_new(&path, &file.bytes, Some(&shop.session(session))) {
            Err(error) if error.kind() != io::ErrorKind::AlreadyExists => return Err(error),
            _ => {}
        }
    }
    Ok(())
}

/// Reads the files of a procedure back.
pub(crate) fn kept_files(shop: &Shop, identity: &ProcedureIdentity) -> Result<Source, Fault> {
    let fault = |file: &FileDigest, what: &str| {
        let message = format!("the shop's copy of {} {what}", file.name);
        Fault::new(&file.name, rhai::Position::NONE, message)
    };
    let mut files = Vec::new();
    for file in &identity.files {
        let bytes = disk::read(&kept(shop, &file.sha256), LARGEST_SETTINGS)
            .map_err(|error| fault(file, &error.to_string()))?;
        files.push((file.name.clone(), bytes));
    }
    let source = Source::from_files(&identity.id, files)?;
    match source.digests().iter().zip(&identity.files).find(|(found, wanted)| found != wanted) {
        Some((_, file)) => Err(fault(file, "has been altered")),
        None => Ok(source.coming_from(identity.origin, identity.signer.clone())),
    }
}

/// Removes the folders of sessions that ended before their first event: nobody has answered anything in them. What the
/// program did not make stays, and what can't be removed stops nobody.
pub(crate) fn sweep(shop: &Shop) {
    const LONG_ENOUGH_TO_BEGIN: Duration = Duration::from_secs(60);
    for entry in std::fs::read_dir(shop.open_sessions()).into_iter().flatten().flatten() {
        let folder = entry.path();
        let is_empty = std::fs::metadata(folder.join(JOURNAL)).map_or(true, |journal| journal.len() == 0);
        let age =
            std::fs::metadata(&folder).and_then(|folder| folder.modified()).map(|begun| begun.elapsed());
        // A younger one may be another program's that is just beginning.
        let is_old = matches!(age, Ok(Ok(age)) if age > LONG_ENOUGH_TO_BEGIN);
        if folder.is_dir() && is_empty && is_old {
            put_away(&folder);
        }
    }
}

/// Removes the folder of a session that is over; where something else lies in it, that stays.
pub(super) fn put_away(folder: &Path) {
    if let Err(error) = remove_folder_of(folder, &[JOURNAL, ORIGIN]) {
        tracing::warn!(%error, "a session's folder stays");
    }
}

fn kept(shop: &Shop, sha256: &str) -> PathBuf {
    shop.files().join(format!("{sha256}.rhai"))
}
