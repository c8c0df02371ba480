use std::path::PathBuf;
use std::sync::Arc;

use percent_encoding::percent_decode_str;

use crate::disk;
use crate::page::{Board, OfTerminal};
use crate::picture::{BadPicture, PHOTO, Picture};
use crate::procedure::Aside;

/// Where photos come from: files of this machine, and a page where one is open.
pub(super) struct Camera {
    pub(super) page: Option<Arc<Board>>,
}

impl Camera {
    /// Takes the photo that a line names, and behind it what it shows. Who sits at a page sends one along: no file of
    /// this machine is read for a name that was typed there.
    ///
    /// # Errors
    /// Says why it is not taken.
    pub(super) fn photo(&self, given: &str) -> Result<Aside, String> {
        match self.page.as_ref().map_or(Err(OfTerminal), |page| page.take_photo()) {
            Err(OfTerminal) => of_file(given),
            Ok(None) => Err("On the page a photo is chosen or dropped, and not typed.".to_owned()),
            Ok(Some(picture)) => Ok(taken(picture, dropped(given).1)),
        }
    }
}

fn taken(picture: Picture, words: &str) -> Aside {
    Aside::Photo { picture, words: Some(words.to_owned()).filter(|words| !words.is_empty()) }
}

/// Returns the file that a whole line names, as typed or as a terminal pastes one that is dropped on it.
pub(crate) fn file_named(given: &str) -> Option<PathBuf> {
    let whole =
        |(path, words): (PathBuf, String)| Some(path).filter(|path| words.is_empty() && path.exists());
    named(given).into_iter().find_map(whole)
}

/// Takes the photo of a file, as typed or as a terminal pastes one that is dropped on it.
fn of_file(given: &str) -> Result<Aside, String> {
    let Some((path, words)) = named(given).into_iter().find(|(path, _)| path.exists()) else {
        let (path, _) = dropped(given);
        return Err(format!(
            "There is no file {path}. Type its path, or drop it here behind the word photo. An answer that begins with this \
             word goes in double quotes."
        ));
    };
    let not_taken = |why: BadPicture| why.of_photo(&path.display().to_string());
    let file = disk::read(&path, PHOTO.bytes).map_err(|error| not_taken(error.into()))?;
    Ok(taken(Picture::of_photo(file).map_err(not_taken)?, &words))
}

/// Returns the files that may be meant, each with the words behind it: the longest path as it stands before a shorter
/// one, since paths have spaces, and last what a terminal may have quoted.
fn named(given: &str) -> Vec<(PathBuf, String)> {
    let spaces = given.rmatch_indices(char::is_whitespace).map(|(at, _)| at);
    let mut named: Vec<_> = [given.len()]
        .into_iter()
        .chain(spaces)
        .map(|at| (given[..at].to_owned(), given[at..].trim()))
        .collect();
    let (path, words) = dropped(given);
    named.push((path, words));
    named.into_iter().map(|(path, words)| (found_at(&path), words.to_owned())).collect()
}

/// Reads a path as terminals paste it, quoted as for a shell (POSIX.1, Shell Command Language, 2.2); returns what
/// stands behind it too.
fn dropped(given: &str) -> (String, &str) {
    let (mut path, mut quote, mut letters) = (String::new(), None, given.char_indices());
    while let Some((at, letter)) = letters.next() {
        match (letter, quote) {
            (c, None) if c.is_whitespace() => return (path, given[at..].trim()),
            ('\'' | '"', None) => quote = Some(letter),
            (c, Some(open)) if c == open => quote = None,
            ('\\', None | Some('"')) => path.extend(letters.next().map(|(_, escaped)| escaped)),
            _ => path.push(letter),
        }
    }
    (path, "")
}

/// Returns the file of a path that may begin at home, or be an address of a file.
fn found_at(path: &str) -> PathBuf {
    if let Some(address) = path.strip_prefix("file://") {
        let of_root = address.find('/').map_or("", |at| &address[at..]);
        return PathBuf::from(percent_decode_str(of_root).decode_utf8_lossy().into_owned());
    }
    match (path.strip_prefix('~'), etcetera::home_dir()) {
        (Some(rest), Ok(home)) if rest.is_empty() || rest.starts_with('/') => {
            home.join(rest.trim_start_matches('/'))
        }
        _ => PathBuf::from(path),
    }
}

#[cfg(test)]
mod tests {
    use super::{dropped, found_at};

    #[test]
    fn a_path_is_read_as_terminals_paste_it() {
        for (pasted, path, words) in [
            ("/a/bore.jpg", "/a/bore.jpg", ""),
            ("'/a/worn bore.jpg' at the spring end", "/a/worn bore.jpg", "at the spring end"),
            ("/a/worn\\ bore\\ \\(1\\).jpg  score", "/a/worn bore (1).jpg", "score"),
            ("\"/a/worn bore.jpg\"", "/a/worn bore.jpg", ""),
            (r"'/a/it'\''s worn.jpg' x", "/a/it's worn.jpg", "x"),
            (r#""/a/3\" drum.jpg""#, "/a/3\" drum.jpg", ""),
        ] {
            assert_eq!(dropped(pasted), (path.to_owned(), words), "{pasted}");
        }
        assert_eq!(found_at("file:///a/worn%20bore.jpg").to_str(), Some("/a/worn bore.jpg"));
        assert_eq!(found_at("file://localhost/a.jpg").to_str(), Some("/a.jpg"));
        assert!(found_at("~/a.jpg").is_absolute() && found_at("~/a.jpg").ends_with("a.jpg"));
        assert_eq!(found_at("~a.jpg").to_str(), Some("~a.jpg"));
    }
}
