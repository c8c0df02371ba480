use std::collections::{BTreeMap, HashMap, VecDeque};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use super::super::syntax::{position, tokens};
use super::Fault;
use super::pictures::{self, MOST_PICTURE_BYTES, MOST_PICTURES, SourcePicture, is_picture_name};
use crate::console::hidden;
use crate::disk;
use crate::picture::Picture;
use crate::record::{FileDigest, Origin, PictureDigest, ProcedureIdentity, Signer, sha256};

/// The largest file that is read as a procedure or a module, in bytes.
pub(crate) const LARGEST_FILE: u64 = 256 << 10;
const MOST_MODULES: usize = 15;

/// A procedure's text and the text of every module that it imports.
#[derive(Debug, Clone)]
pub struct Source {
    /// The procedure's short name: its file's, without the ending.
    pub id: String,
    /// Where it comes from: shipped with the program, received by the shop, or a file.
    pub origin: Origin,
    /// Who signed it; none where nobody did.
    pub signer: Option<Signer>,
    /// The files, the procedure's own first.
    pub files: Vec<SourceFile>,
    /// The pictures that its texts name, by their names.
    pub(crate) pictures: Vec<SourcePicture>,
    /// The folder that they are shown in, as somebody typed it; empty where the names alone are shown.
    folder: PathBuf,
}

#[derive(Debug, Clone)]
pub struct SourceFile {
    /// Its name relative to the procedure's folder, as `osier-o7-rear.rhai`.
    pub name: String,
    pub bytes: Vec<u8>,
    /// Its text, without a byte-order mark.
    pub text: String,
    /// SHA-256 of its bytes, in hexadecimal.
    pub sha256: String,
}

impl SourceFile {
    fn new(name: String, bytes: &[u8]) -> Result<SourceFile, Fault> {
        let sha256 = sha256(bytes);
        let text = std::str::from_utf8(bytes).map_err(|error| {
            let line = bytes[..error.valid_up_to()].iter().filter(|byte| **byte == b'\n').count() + 1;
            whole_file(&name, format!("line {line} is not UTF-8 text"))
                .help("save the file as plain UTF-8 text in your editor")
        })?;
        // Some editors put a byte-order mark in front; Rhai would stop at it.
        let text = text.strip_prefix('\u{FEFF}').unwrap_or(text).to_owned();
        Ok(SourceFile { name, bytes: bytes.to_vec(), text, sha256 })
    }

    /// Finds a character that makes the file look other than what it does: a control character, or one that turns the
    /// direction of writing.
    pub(crate) fn hidden_character(&self) -> Option<Fault> {
        for (index, line) in self.text.split('\n').enumerate() {
            let line = line.strip_suffix('\r').unwrap_or(line);
            let found = line
                .chars()
                .enumerate()
                .find(|(_, c)| *c != '\t' && hidden(c.encode_utf8(&mut [0; 4])).is_some());
            if let Some((column, character)) = found {
                let message = format!("the hidden character U+{:04X} stands here", u32::from(character));
                return Some(
                    Fault::new(&self.name, position(index + 1, column + 1), message).help("delete it"),
                );
            }
        }
        None
    }
}

impl Source {
    /// Reads a procedure that is built in or comes from a pack, whose files are all at hand, pictures among them.
    pub fn from_files(id: &str, files: impl IntoIterator<Item = (String, Vec<u8>)>) -> Result<Source, Fault> {
        let (pictures, texts): (Vec<_>, Vec<_>) =
            files.into_iter().partition(|(name, _)| is_picture_name(name));
        let texts = texts.iter().map(|(name, bytes)| SourceFile::new(name.clone(), bytes));
        let source = Source::unsigned(id, texts.collect::<Result<_, _>>()?);
        let pictures = pictures.into_iter().map(|(name, bytes)| SourcePicture::of_bytes(&name, bytes));
        source.showing(pictures.collect())
    }

    fn unsigned(id: &str, files: Vec<SourceFile>) -> Source {
        let (id, origin, signer, folder) = (id.to_owned(), Origin::File, None, PathBuf::new());
        Source { id, origin, signer, files, pictures: Vec::new(), folder }
    }

    /// Gives it its pictures.
    fn showing(self, mut pictures: Vec<SourcePicture>) -> Result<Source, Fault> {
        pictures.sort_by(|one, other| one.name.cmp(&other.name));
        let n_bytes: usize =
            pictures.iter().filter_map(SourcePicture::picture).map(|picture| picture.bytes().len()).sum();
        let shown = self.files.first().map(|file| self.shown(&file.name)).unwrap_or_default();
        if pictures.len() > MOST_PICTURES {
            return Err(whole_file(&shown, format!("names more than {MOST_PICTURES} pictures")));
        }
        if n_bytes > MOST_PICTURE_BYTES {
            let most = MOST_PICTURE_BYTES / 1024;
            return Err(whole_file(&shown, format!("its pictures are larger than {most} KiB together")));
        }
        Ok(Source { pictures, ..self })
    }

    /// Takes a procedure up again from the texts that a session keeps; fails where one is not there as it was.
    pub(crate) fn kept<'a>(
        identity: &ProcedureIdentity,
        texts: impl Iterator<Item = &'a String>,
    ) -> Result<Source, Fault> {
        let by_digest: HashMap<String, &String> = texts.map(|text| (sha256(text.as_bytes()), text)).collect();
        let files = identity.files.iter().map(|file| match by_digest.get(&file.sha256) {
            Some(text) => SourceFile::new(file.name.clone(), text.as_bytes()),
            None => Err(whole_file(
                &file.name,
                "its text is missing or altered: none that is kept has its digest",
            )),
        });
        let source = Source::unsigned(&identity.id, files.collect::<Result<_, _>>()?);
        if let Some(other) = identity.pictures.iter().find(|picture| !source.names(&picture.name)) {
            return Err(whole_file(&other.name, "no text of the procedure shows it"));
        }
        let source = source.showing(identity.pictures.iter().map(SourcePicture::known).collect())?;
        Ok(source.coming_from(identity.origin, identity.signer.clone()))
    }

    /// Returns the files' texts as a session keeps them, each once.
    pub(crate) fn texts(&self) -> Vec<String> {
        let mut texts: Vec<String> = Vec::new();
        for file in &self.files {
            let text = String::from_utf8_lossy(&file.bytes);
            if !texts.iter().any(|known| *known == text) {
                texts.push(text.into_owned());
            }
        }
        texts
    }

    /// Says where the procedure came from and who signed it; without this it is an unsigned file.
    #[must_use]
    pub fn coming_from(self, origin: Origin, signer: Option<Signer>) -> Source {
        Source { origin, signer, ..self }
    }

    /// Says in which folder the files are to be shown, so that an editor or a terminal finds them.
    #[must_use]
    pub fn shown_in(self, folder: &Path) -> Source {
        Source { folder: folder.to_owned(), ..self }
    }

    /// Returns it with another text of its own file, and perhaps with one more picture.
    pub(crate) fn reworded(
        &self,
        text: &str,
        picture: impl IntoIterator<Item = (String, Vec<u8>)>,
    ) -> Result<Source, Fault> {
        let own = (self.files[0].name.clone(), text.as_bytes().to_vec());
        let modules = self.files.iter().skip(1).map(|file| (file.name.clone(), file.bytes.clone()));
        let mut pictures: BTreeMap<String, Vec<u8>> = self
            .pictures
            .iter()
            .filter_map(|known| Some((known.name.clone(), known.picture()?.bytes().to_vec())))
            .collect();
        pictures.extend(picture);
        pictures.retain(|name, _| text.contains(&format!("\"{name}\"")) || self.names(name));
        let source = Source::from_files(&self.id, [own].into_iter().chain(modules).chain(pictures))?;
        Ok(source.coming_from(self.origin, self.signer.clone()).shown_in(&self.folder))
    }

    /// Reads a procedure from a file, and its modules from the same folder.
    pub fn from_path(path: &Path) -> Result<Source, Fault> {
        let shown = path.display().to_string();
        let Some(stem) = path.file_stem().and_then(|stem| stem.to_str()) else {
            return Err(whole_file(&shown, "has no file name that can be read"));
        };
        let folder = path.parent().map(Path::to_path_buf).unwrap_or_default();
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let first = SourceFile::new(name, &read(path, &shown)?)?;
        let mut source = Source::unsigned(stem, vec![first]);
        let mut waiting: VecDeque<usize> = VecDeque::from([0]);
        while let Some(index) = waiting.pop_front() {
            for module in modules_of(&source.files[index].text) {
                let name = format!("{module}.rhai");
                if source.file(&name).is_some() {
                    continue;
                }
                if source.files.len() > MOST_MODULES {
                    return Err(whole_file(&shown, format!("imports more than {MOST_MODULES} modules")));
                }
                // One that is not there is told when the procedure is checked, with all else.
                if let Some(path) = inside(&folder, &name) {
                    source.files.push(SourceFile::new(name.clone(), &read(&path, &name)?)?);
                    waiting.push_back(source.files.len() - 1);
                }
            }
        }
        let pictures = pictures::beside(&folder, source.files.iter().map(|file| file.text.as_str()));
        source.showing(pictures)
    }

    /// Returns the file of this name; none where it is no part of the procedure.
    pub fn file(&self, name: &str) -> Option<&SourceFile> {
        self.files.iter().find(|file| file.name == name)
    }

    /// Returns the place of a file in the order of the files; the last where there is none of that name.
    pub fn place(&self, name: &str) -> usize {
        self.files.iter().position(|file| file.name == name).unwrap_or(self.files.len())
    }

    /// Returns the digests of all files, the procedure's own first.
    pub fn digests(&self) -> Vec<FileDigest> {
        let digest = |file: &SourceFile| FileDigest { name: file.name.clone(), sha256: file.sha256.clone() };
        self.files.iter().map(digest).collect()
    }

    pub(crate) fn picture_digests(&self) -> Vec<PictureDigest> {
        self.pictures.iter().filter_map(SourcePicture::digest).collect()
    }

    /// Returns the picture of a name; none where it is no part of the procedure, or not at hand.
    pub(crate) fn picture(&self, name: &str) -> Option<&Picture> {
        self.pictures.iter().find(|picture| picture.name == name)?.picture()
    }

    /// Returns whether a picture of this name stands in its texts.
    pub(crate) fn names(&self, picture: &str) -> bool {
        let quoted = format!("\"{picture}\"");
        self.files.iter().any(|file| file.text.contains(&quoted))
    }

    /// Returns whether these are the files, pictures included, of a procedure that ran.
    pub(crate) fn is_of(&self, identity: &ProcedureIdentity) -> bool {
        self.digests() == identity.files && self.picture_digests() == identity.pictures
    }

    /// Returns the name of a file as somebody typed it, so that an editor or a terminal finds it.
    pub(crate) fn shown(&self, file: &str) -> String {
        self.folder.join(file).display().to_string()
    }

    /// Renders faults with the lines they point at.
    pub fn render(&self, faults: &[Fault]) -> String {
        let render = |d: &Fault| {
            let text = self.file(&d.file).map(|file| file.text.as_str());
            Fault { file: self.shown(&d.file), ..d.clone() }.render(text)
        };
        faults.iter().map(render).collect::<Vec<_>>().join("\n\n")
    }
}

/// Returns the modules that a text imports by names that can be those of files beside it.
fn modules_of(text: &str) -> Vec<String> {
    let tokens = tokens(text);
    let imported = tokens.windows(2).filter(|pair| pair[0].is("import"));
    let names = imported.map(|pair| pair[1].text.trim_matches('"').to_owned());
    names.filter(|name| is_plain_name(name)).collect()
}

/// Returns the real path of a file, unless a link leads it out of the folder.
pub(super) fn inside(folder: &Path, name: &str) -> Option<PathBuf> {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let path = folder.join(name).canonicalize().ok()?;
    path.starts_with(folder.canonicalize().ok()?).then_some(path)
}

fn read(path: &Path, shown: &str) -> Result<Vec<u8>, Fault> {
    disk::read(path, LARGEST_FILE).map_err(|error| {
        let is_told = matches!(error.kind(), ErrorKind::InvalidInput | ErrorKind::FileTooLarge);
        whole_file(shown, if is_told { error.to_string() } else { format!("cannot be read: {error}") })
    })
}

fn whole_file(file: &str, message: impl Into<String>) -> Fault {
    Fault::new(file, rhai::Position::NONE, format!("{file}: {}", message.into()))
}

/// Names that mean a device and not a file on some systems, whatever their ending.
const DEVICES: &[&str] = &["aux", "clock", "con", "conin", "conout", "nul", "null", "prn"];

/// Returns whether a name can be a file's everywhere without an ending: 1 to 64 letters, digits, `-` and `_`, and no
/// device's name.
pub(crate) fn is_plain_name(name: &str) -> bool {
    let folded = name.to_ascii_lowercase();
    let numbered = |device| folded.strip_prefix(device).is_some_and(|rest: &str| rest.len() == 1);
    (1..=64).contains(&name.len())
        && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_')
        && !DEVICES.contains(&folded.as_str())
        && !numbered("com")
        && !numbered("lpt")
}

/// A procedure that is built into the program.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Shipped {
    pub id: &'static str,
    text: &'static str,
    /// The picture that its text names, by the same name.
    picture: Option<&'static [u8]>,
}

macro_rules! shipped {
    ($id:literal) => {
        Shipped { id: $id, text: include_str!(concat!("../../../procedures/", $id, ".rhai")), picture: None }
    };
    ($id:literal with a picture) => {
        Shipped {
            picture: Some(include_bytes!(concat!("../../../procedures/", $id, ".png"))),
            ..shipped!($id)
        }
    };
}

/// Every procedure that is built in; the first is the one to try first.
pub(crate) const SHIPPED: &[Shipped] = &[
    shipped!("osier-o7-rear" with a picture),
    shipped!("corrie-c4-main" with a picture),
    shipped!("rig-commissioning"),
    shipped!("test-orifice"),
    shipped!("class-study"),
];

impl Shipped {
    pub(crate) fn source(&self) -> Result<Source, Fault> {
        let text = SourceFile::new(format!("{}.rhai", self.id), self.text.as_bytes())?;
        let source = Source::unsigned(self.id, vec![text]).coming_from(Origin::Shipped, None);
        source.showing(self.picture().into_iter().collect())
    }

    /// Returns its picture, which is decoded once: sources are made often.
    fn picture(&self) -> Option<SourcePicture> {
        static DECODED: Mutex<BTreeMap<&str, SourcePicture>> = Mutex::new(BTreeMap::new());
        let bytes = self.picture?;
        let decode = || SourcePicture::of_bytes(&format!("{}.png", self.id), bytes.to_vec());
        let mut decoded = DECODED.lock().unwrap_or_else(PoisonError::into_inner);
        Some(decoded.entry(self.id).or_insert_with(decode).clone())
    }
}

#[cfg(test)]
mod tests {
    use super::is_plain_name;

    #[test]
    fn names_of_devices_paths_and_nothing_are_not_plain() {
        for name in ["", ".", "..", "a/b", "a\\b", "a:b", "con", "NUL", "Com1", "lpt9", "a b", "ä", "a.b"] {
            assert!(!is_plain_name(name), "{name}");
        }
        for name in ["osier-o7-rear", "Steps_2", "common", "console", "lpt10", "c"] {
            assert!(is_plain_name(name), "{name}");
        }
    }
}
