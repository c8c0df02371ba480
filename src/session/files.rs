use std::io::{self, Write};
use std::path::PathBuf;

use crate::procedure::{Diagnostic, Source};
use crate::record::{FileDigest, ProcedureIdentity, Shop};

/// Keeps a procedure's files in the shop under their digests, so that its sessions can be resumed and its records
/// amended and audited whatever becomes of the originals.
///
/// # Errors
/// Where the disk refuses.
pub fn keep_files(shop: &Shop, source: &Source) -> io::Result<()> {
    for file in &source.files {
        let path = kept(shop, &file.sha256);
        if path.exists() {
            continue;
        }
        let mut copy = tempfile::Builder::new().prefix(".unfinished-").tempfile_in(shop.files())?;
        copy.write_all(&file.bytes)?;
        copy.as_file().sync_all()?;
        match copy.persist_noclobber(&path) {
            Err(error) if error.error.kind() != io::ErrorKind::AlreadyExists => return Err(error.error),
            _ => {}
        }
    }
    std::fs::File::open(shop.files())?.sync_all()
}

/// Reads the files of a procedure back.
///
/// # Errors
/// A diagnostic where a file is missing or is not the one of that digest.
pub fn kept_files(shop: &Shop, identity: &ProcedureIdentity) -> Result<Source, Diagnostic> {
    let fault = |file: &FileDigest, what: &str| {
        let message = format!("the shop's copy of {} {what}", file.name);
        Diagnostic::new(&file.name, rhai::Position::NONE, message)
    };
    let mut files = Vec::new();
    for file in &identity.files {
        let bytes =
            std::fs::read(kept(shop, &file.sha256)).map_err(|error| fault(file, &error.to_string()))?;
        files.push((file.name.clone(), bytes));
    }
    let source = Source::from_files(&identity.id, files)?;
    match source.digests().iter().zip(&identity.files).find(|(found, wanted)| found != wanted) {
        Some((_, file)) => Err(fault(file, "has been altered")),
        None => Ok(source),
    }
}

fn kept(shop: &Shop, sha256: &str) -> PathBuf {
    shop.files().join(format!("{sha256}.rhai"))
}
