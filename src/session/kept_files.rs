use std::fs;
use std::io;
use std::path::Path;

use crate::procedure::{Diagnostic, Source};
use crate::record::ProcedureIdentity;

/// Folder inside a session's that holds the procedure as it was when the session began.
const FOLDER: &str = "procedure";

/// Keeps a copy of a procedure's files with a session, so that it can be resumed whatever becomes of the originals.
///
/// # Errors
/// Where the disk refuses.
pub fn keep_files(session: &Path, source: &Source) -> io::Result<()> {
    let folder = session.join(FOLDER);
    fs::create_dir(&folder)?;
    for file in &source.files {
        let mut copy = fs::File::create_new(folder.join(&file.name))?;
        io::Write::write_all(&mut copy, &file.bytes)?;
        copy.sync_all()?;
    }
    fs::File::open(&folder)?.sync_all()
}

/// Reads the kept copy back.
///
/// # Errors
/// A diagnostic where a file is missing or is not the one that the session began with.
pub fn kept_files(session: &Path, identity: &ProcedureIdentity) -> Result<Source, Diagnostic> {
    let name = identity.files.first().map_or("", |file| file.name.as_str());
    let mut source = Source::from_path(&session.join(FOLDER).join(name))?;
    source.id.clone_from(&identity.id);
    if source.digests() != identity.files {
        let message = "the session's copy of the procedure is not the one that it began with";
        return Err(Diagnostic::new(name, rhai::Position::NONE, message));
    }
    Ok(source)
}
