use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::ServerError;
use crate::disk::{LARGEST_SETTINGS, read_text};

/// Returns the password for a login at a host and port and their database; none where no file has one.
///
/// The file is the one that `PGPASSFILE` names, else `~/.pgpass`, as PostgreSQL's own programs read it: in each line
/// host, port, database, login and password with colons between them, `*` for any, `\` before a colon or a `\` that is
/// meant (PostgreSQL 15, 34.16, The Password File).
pub(super) fn password_for(
    login: &str,
    (host, port): &(String, u16),
    database: &str,
) -> Result<Option<String>, ServerError> {
    let named = std::env::var_os("PGPASSFILE").map(PathBuf::from);
    let Some(file) = named.or_else(|| Some(etcetera::home_dir().ok()?.join(".pgpass"))) else {
        return Ok(None);
    };
    let text = match read_text(&file, LARGEST_SETTINGS) {
        Ok(text) => text,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(ServerError::File(file, error)),
    };
    if is_open(&file) {
        return Err(ServerError::OpenPassFile(file));
    }
    Ok(password_in(&text, &[host, &port.to_string(), database, login]))
}

/// Returns the password of the first line that is for these four.
pub(crate) fn password_in(text: &str, wanted: &[&str; 4]) -> Option<String> {
    text.lines().filter(|line| !line.starts_with('#')).map(fields).find_map(|mut fields| {
        let is_meant = fields.len() == wanted.len() + 1
            && fields.iter().zip(wanted).all(|(field, wanted)| field == "*" || field == wanted);
        is_meant.then(|| fields.pop()).flatten()
    })
}

fn fields(line: &str) -> Vec<String> {
    let mut fields = vec![String::new()];
    let mut letters = line.chars();
    while let Some(letter) = letters.next() {
        match (letter, fields.last_mut()) {
            (':', _) => fields.push(String::new()),
            ('\\', Some(field)) => field.extend(letters.next()),
            (letter, Some(field)) => field.push(letter),
            (_, None) => {}
        }
    }
    fields
}

#[cfg(unix)]
fn is_open(file: &Path) -> bool {
    use std::os::unix::fs::PermissionsExt;
    fs::metadata(file).is_ok_and(|about| about.permissions().mode() & 0o077 != 0)
}

#[cfg(not(unix))]
fn is_open(_: &Path) -> bool {
    false
}
