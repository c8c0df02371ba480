use std::fs::{File, OpenOptions};
use std::io::{self, ErrorKind, Read};
use std::path::Path;

/// The most bytes of a file that somebody wrote by hand or by a few questions.
pub(crate) const LARGEST_SETTINGS: u64 = 1 << 20;

/// The most bytes of a journal or a record: those of a session with as many questions and as much text as there may be.
pub(crate) const LARGEST_DOCUMENT: u64 = 256 << 20;

/// Reads a plain file of at most so many bytes.
///
/// # Errors
/// Where it can't be read, is larger, or is something else: a folder, a pipe that nobody writes to, a device without
/// end.
pub(crate) fn read(path: &Path, most: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    read_into(&mut bytes, path, most)?;
    Ok(bytes)
}

/// Reads a file as [`read`] does, in place of what these bytes were: where many files are read, they needn't be made anew.
pub(crate) fn read_into(bytes: &mut Vec<u8>, path: &Path, most: u64) -> io::Result<()> {
    let (file, size) = plain(path, OpenOptions::new().read(true))?;
    let too_large = || io::Error::new(ErrorKind::FileTooLarge, format!("is larger than {} KiB", most / 1024));
    if size > most {
        return Err(too_large());
    }
    // All of it at once, which goes most quickly, and then what has come behind it since.
    bytes.resize(usize::try_from(size).map_err(|_| too_large())?, 0);
    let mut file = file.take(most + 1);
    let n = file.read(bytes)?;
    bytes.truncate(n);
    file.read_to_end(bytes)?;
    if bytes.len() as u64 > most { Err(too_large()) } else { Ok(()) }
}

/// Reads a plain file of text in UTF-8 of at most so many bytes.
pub(crate) fn read_text(path: &Path, most: u64) -> io::Result<String> {
    String::from_utf8(read(path, most)?)
        .map_err(|_| io::Error::new(ErrorKind::InvalidData, "is no text in UTF-8"))
}

/// Opens a file that has to be a plain one; returns its size with it.
pub(crate) fn plain(path: &Path, options: &mut OpenOptions) -> io::Result<(File, u64)> {
    let file = at_once(options).open(path)?;
    let about = file.metadata()?;
    if about.is_file() {
        Ok((file, about.len()))
    } else {
        Err(io::Error::new(ErrorKind::InvalidInput, "is not a file"))
    }
}

/// Has a file opened without waiting for somebody at the other end of a pipe.
#[cfg(unix)]
fn at_once(options: &mut OpenOptions) -> &mut OpenOptions {
    use std::os::unix::fs::OpenOptionsExt;
    options.custom_flags(rustix::fs::OFlags::NONBLOCK.bits().cast_signed())
}

#[cfg(not(unix))]
fn at_once(options: &mut OpenOptions) -> &mut OpenOptions {
    options
}
