use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use super::super::syntax::tokens;
use super::source::{inside, is_plain_name};
use super::{Place, Walk};
use crate::picture::{BadPicture, DRAWING, Picture};
use crate::record::{PictureDigest, Pixel, Question, sha256};

/// The most pictures of a procedure, and the most bytes of all of them.
pub(super) const MOST_PICTURES: usize = 24;
pub(super) const MOST_PICTURE_BYTES: usize = 4 << 20;

/// The endings that the names of pictures have.
const ENDINGS: [&str; 3] = [".png", ".jpg", ".jpeg"];

/// A file that a procedure names as a picture.
#[derive(Debug, Clone)]
pub(crate) struct SourcePicture {
    /// Its name, relative to the procedure's folder.
    pub(crate) name: String,
    pub(crate) found: FoundPicture,
    /// Whether its camera's notes are in it (Exif): where and when it was taken, which way up it was held.
    pub(crate) is_noted: bool,
}

#[derive(Debug, Clone)]
pub(crate) enum FoundPicture {
    /// It is there, with its digest.
    There(Picture, String),
    /// It was there when a record or a journal was written, which says no more of it.
    Known(PictureDigest),
    /// It is no picture that can be taken; says why, and what helps.
    Bad { why: String, help: &'static str },
}

impl SourcePicture {
    pub(super) fn of(name: &str, read: Result<(Picture, bool), BadPicture>) -> SourcePicture {
        let (found, is_noted) = match read {
            Ok((picture, is_noted)) => {
                let digest = sha256(picture.bytes());
                (FoundPicture::There(picture, digest), is_noted)
            }
            Err(why) => {
                let help = match &why {
                    BadPicture::Heavy { .. } | BadPicture::Large { .. } => "save it smaller",
                    BadPicture::Foreign | BadPicture::Broken(_) => "save it anew as PNG or JPEG",
                    BadPicture::Io(_) => "look at the file and at who may read it",
                };
                (FoundPicture::Bad { why: why.to_string(), help }, false)
            }
        };
        SourcePicture { name: name.to_owned(), found, is_noted }
    }

    pub(super) fn of_bytes(name: &str, bytes: Vec<u8>) -> SourcePicture {
        SourcePicture::of(name, Picture::noted(bytes, DRAWING))
    }

    pub(super) fn known(digest: &PictureDigest) -> SourcePicture {
        let found = FoundPicture::Known(digest.clone());
        SourcePicture { name: digest.name.clone(), found, is_noted: false }
    }

    /// Returns the picture itself, where it is at hand.
    pub(crate) fn picture(&self) -> Option<&Picture> {
        match &self.found {
            FoundPicture::There(picture, _) => Some(picture),
            _ => None,
        }
    }

    /// Returns what a record says of it; nothing of what is no picture.
    pub(crate) fn digest(&self) -> Option<PictureDigest> {
        match &self.found {
            FoundPicture::There(picture, digest) => Some(PictureDigest {
                name: self.name.clone(),
                sha256: digest.clone(),
                width: picture.width,
                height: picture.height,
            }),
            FoundPicture::Known(digest) => Some(digest.clone()),
            FoundPicture::Bad { .. } => None,
        }
    }
}

/// A picture that helps with a question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct PictureHere<'a> {
    pub(crate) name: &'a str,
    /// The ports that lie on it.
    pub(crate) ports: Option<&'a BTreeMap<String, Pixel>>,
    /// The port that is meant, where it lies on it.
    pub(crate) port: Option<String>,
}

impl Walk {
    /// Shows a picture with what is asked for next.
    pub(crate) fn show_picture(&mut self, name: &str) {
        self.place.picture = Some(name.to_owned());
    }
}

impl Place {
    /// Returns the pictures that help with a question, the nearest to it first: of the step, of the circuit, and of the
    /// unit where the circuit's port lies on that.
    pub(crate) fn pictures(&self, question: &Question) -> Vec<PictureHere<'_>> {
        let of_circuit = self.circuit.as_ref().and_then(|circuit| circuit.port.clone());
        let port = self.spot(question).port.or(of_circuit);
        let step = self.picture.as_deref().map(|name| PictureHere { name, ports: None, port: None });
        let circuit = self.circuit.as_ref().and_then(|circuit| circuit.map.as_ref());
        let maps = circuit.into_iter().chain(self.map.as_deref()).map(|map| {
            let on_it = port.clone().filter(|port| map.ports.contains_key(port));
            PictureHere { name: &map.picture, ports: Some(&map.ports), port: on_it }
        });
        // Of the unit as a whole there is something to see only where the port is on it.
        let n_own = usize::from(circuit.is_some());
        let maps = maps.enumerate().filter(|(n, map)| *n < n_own || map.port.is_some());
        step.into_iter().chain(maps.map(|(_, map)| map)).collect()
    }
}

/// Returns whether a name can be that of a picture beside a procedure, everywhere.
pub(crate) fn is_picture_name(name: &str) -> bool {
    ENDINGS.iter().any(|ending| name.strip_suffix(ending).is_some_and(is_plain_name))
}

/// Reads the pictures that the texts of a procedure name, from its folder. One that is not there, or can't be taken, is
/// told when the procedure is checked, with all else.
pub(super) fn beside<'a>(folder: &Path, texts: impl Iterator<Item = &'a str>) -> Vec<SourcePicture> {
    let there = named_in(texts).into_iter().filter_map(|name| Some((inside(folder, &name)?, name)));
    there.map(|(path, name)| read(&path, &name)).collect()
}

fn read(path: &Path, name: &str) -> SourcePicture {
    let bytes = Picture::read_bytes(path, DRAWING);
    SourcePicture::of(name, bytes.and_then(|bytes| Picture::noted(bytes, DRAWING)))
}

/// Returns the names of pictures that stand in texts, each once; no more than are read.
fn named_in<'a>(texts: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut names = BTreeSet::new();
    for text in texts {
        let tokens = tokens(text);
        let quoted = tokens.iter().map(|token| token.text.trim_matches('"'));
        names.extend(quoted.filter(|text| is_picture_name(text)).map(str::to_owned));
    }
    names.into_iter().take(MOST_PICTURES + 1).collect()
}
