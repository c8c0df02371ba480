use std::io;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use data_encoding::BASE64;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use thiserror::Error;

use super::sign::{OwnKey, check_name};
use super::strict_json::parse_strict;
use super::version::Version;
use crate::disk;
use crate::procedure::{FoundPicture, Program, Source, SourcePicture, is_picture_name, is_plain_name};
use crate::record::{Origin, PictureDigest, Schema, SignerKey, canonical, sha256};

const FORMAT: &str = "spoolproof/pack/1";

static SCHEMA: LazyLock<Schema> =
    LazyLock::new(|| Schema::new(include_str!("../../schemas/pack.schema.json")));

/// The largest pack that is read, in bytes.
pub(crate) const LARGEST_PACK: u64 = 8 << 20;

/// A procedure with its modules and pictures, signed: one JSON document that can be read, verified and installed.
///
/// There is none that has not been checked: names, digests and signature are right. That its procedure runs is checked
/// by [`Pack::program`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Pack {
    format: String,
    id: String,
    title: String,
    unit: Option<String>,
    version: String,
    files: Vec<PackedFile>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pictures: Vec<PackedPicture>,
    signer: SignerKey,
    signature: String,
}

/// One file of a pack, as lines so that a person can read it there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct PackedFile {
    /// Its name, as `osier-o7-rear.rhai`.
    pub(crate) name: String,
    /// SHA-256 of its bytes, in hexadecimal.
    pub(crate) sha256: String,
    /// Its lines; joined by line feeds they are its bytes in UTF-8.
    pub(crate) lines: Vec<String>,
}

/// One picture of a pack.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct PackedPicture {
    /// Its name, as `lower-body.png`.
    name: String,
    /// SHA-256 of its bytes, in hexadecimal.
    sha256: String,
    /// Its bytes in Base64 (RFC 4648, section 4).
    base64: String,
}

/// A file of a pack, of whatever kind.
pub(crate) struct PackedContent<'a> {
    pub(crate) name: &'a str,
    pub(crate) sha256: &'a str,
    pub(crate) bytes: Vec<u8>,
}

impl PackedFile {
    pub(crate) fn bytes(&self) -> Vec<u8> {
        self.lines.join("\n").into_bytes()
    }
}

impl PackedPicture {
    fn of(picture: &SourcePicture) -> Option<PackedPicture> {
        let PictureDigest { name, sha256, .. } = picture.digest()?;
        Some(PackedPicture { name, sha256, base64: BASE64.encode(picture.picture()?.bytes()) })
    }
}

impl Pack {
    pub(crate) fn make(program: &Program, own: &OwnKey) -> Result<Pack, PackError> {
        let source = &program.source;
        let title = program.title.clone();
        let packed = source.files.iter().map(|file| PackedFile {
            name: file.name.clone(),
            sha256: file.sha256.clone(),
            lines: String::from_utf8_lossy(&file.bytes).split('\n').map(str::to_owned).collect(),
        });
        let mut pack = Pack {
            format: FORMAT.to_owned(),
            id: source.id.clone(),
            title: title.title,
            unit: title.unit,
            version: title.version,
            files: packed.collect(),
            pictures: source.pictures.iter().filter_map(PackedPicture::of).collect(),
            signer: own.signer(),
            signature: String::new(),
        };
        pack.check_names()?;
        pack.signature = own.sign(&signed_bytes(&pack)?);
        Ok(pack)
    }

    /// Reads a pack's file and checks it; returns its bytes with it.
    pub(crate) fn open(path: &Path) -> Result<(Pack, Vec<u8>), PackError> {
        let bytes = disk::read(path, LARGEST_PACK)?;
        Ok((Pack::read(&bytes)?, bytes))
    }

    /// Reads a pack and checks everything about it but whether its procedure runs.
    pub(crate) fn read(bytes: &[u8]) -> Result<Pack, PackError> {
        Pack::of(&parse_strict(bytes).map_err(PackError::NoJson)?)
    }

    /// Reads a pack out of a document that was read strictly, and checks it as [`Pack::read`] does.
    pub(super) fn of(document: &Value) -> Result<Pack, PackError> {
        SCHEMA.check(document).map_err(PackError::Invalid)?;
        let pack: Pack = serde_json::from_value(document.clone())
            .map_err(|error| PackError::Invalid(vec![error.to_string()]))?;
        check_name(&pack.signer.name).map_err(PackError::SignerName)?;
        let message = signed_bytes(document)?;
        if !pack.signer.public_key.verifies(&message, &pack.signature) {
            return Err(PackError::Signature(pack.signer.name));
        }
        pack.check_names()?;
        for picture in &pack.pictures {
            // Whatever else stands there is not what its digest is of.
            if BASE64.decode(picture.base64.as_bytes()).is_err() {
                return Err(PackError::Digest(picture.name.clone()));
            }
        }
        for file in pack.contents() {
            if sha256(&file.bytes) != file.sha256 {
                return Err(PackError::Digest(file.name.to_owned()));
            }
        }
        let source = pack.source()?;
        for picture in &source.pictures {
            if let FoundPicture::Bad { why, .. } = &picture.found {
                return Err(PackError::Picture(picture.name.clone(), why.clone()));
            }
            if !source.names(&picture.name) {
                return Err(PackError::Picture(
                    picture.name.clone(),
                    "the procedure does not show it".to_owned(),
                ));
            }
        }
        Ok(pack)
    }

    /// Compiles the procedure, and holds what the pack says of it against what it says of itself.
    pub(crate) fn program(&self) -> Result<Program, PackError> {
        let source = self.source()?;
        let shown = source.clone();
        let program = Program::compile(source).map_err(|faults| PackError::Faults(shown.render(&faults)))?;
        let title = program.title.clone();
        let unit = |unit: &Option<String>| unit.clone().unwrap_or_default();
        for (what, pack, procedure) in [
            ("title", self.title.clone(), title.title),
            ("unit", unit(&self.unit), unit(&title.unit)),
            ("version", self.version.clone(), title.version),
        ] {
            if pack != procedure {
                return Err(PackError::Declared { what, pack, procedure });
            }
        }
        Ok(program)
    }

    pub(crate) fn document(&self) -> Result<String, PackError> {
        Ok(serde_json::to_string_pretty(self)? + "\n")
    }

    pub(crate) fn id(&self) -> &str {
        &self.id
    }

    pub(crate) fn title(&self) -> &str {
        &self.title
    }

    pub(crate) fn unit(&self) -> Option<&str> {
        self.unit.as_deref()
    }

    pub(crate) fn version(&self) -> Version {
        self.version.parse().unwrap_or_else(|_| unreachable!("checked when the pack was made or read"))
    }

    /// Returns the files, the procedure's own first, and behind them the pictures.
    pub(crate) fn contents(&self) -> impl Iterator<Item = PackedContent<'_>> {
        let files = self.files.iter().map(|file| PackedContent {
            name: &file.name,
            sha256: &file.sha256,
            bytes: file.bytes(),
        });
        let pictures = self.pictures.iter().map(|picture| PackedContent {
            name: &picture.name,
            sha256: &picture.sha256,
            bytes: BASE64.decode(picture.base64.as_bytes()).unwrap_or_default(),
        });
        files.chain(pictures)
    }

    pub(crate) fn signer(&self) -> &SignerKey {
        &self.signer
    }

    /// Returns the name that the pack's file is given.
    pub(crate) fn file_name(&self) -> String {
        format!("{}-{}{ENDING}", self.id, self.version)
    }

    /// Returns the procedure's text, with who signed it.
    pub(super) fn source(&self) -> Result<Source, PackError> {
        let files = self.contents().map(|file| (file.name.to_owned(), file.bytes));
        let source = Source::from_files(&self.id, files);
        let source = source.map_err(|fault| PackError::Faults(fault.render(None)))?;
        Ok(source.coming_from(Origin::Shop, Some(self.signer.signer())))
    }

    /// Checks that the files can lie in a folder anywhere, and none outside it.
    fn check_names(&self) -> Result<(), PackError> {
        if self.version.parse::<Version>().is_err() {
            return Err(PackError::Version(self.version.clone()));
        }
        if !is_plain_name(&self.id) || self.id != self.id.to_lowercase() {
            return Err(PackError::Name(self.id.clone()));
        }
        for (index, file) in self.files.iter().enumerate() {
            let stem = file.name.strip_suffix(".rhai").filter(|stem| is_plain_name(stem));
            let is_own = (index == 0) == (stem == Some(self.id.as_str()));
            if stem.is_none() || !is_own {
                return Err(PackError::Name(file.name.clone()));
            }
        }
        if let Some(picture) = self.pictures.iter().find(|picture| !is_picture_name(&picture.name)) {
            return Err(PackError::Name(picture.name.clone()));
        }
        let names = self.files.iter().map(|file| &file.name);
        let names: Vec<_> = names.chain(self.pictures.iter().map(|picture| &picture.name)).collect();
        for (index, name) in names.iter().enumerate() {
            if let Some(earlier) = names[..index].iter().find(|earlier| earlier.eq_ignore_ascii_case(name)) {
                return Err(PackError::Alike((*earlier).clone(), (*name).clone()));
            }
        }
        Ok(())
    }
}

/// Returns the bytes that a signature is over: the canonical form (RFC 8785) of a document without its `signature`.
pub(crate) fn signed_bytes(document: &impl Serialize) -> serde_json::Result<Vec<u8>> {
    canonical(document, &["signature"])
}

/// The end of the names of files that hold a pack.
pub(crate) const ENDING: &str = ".pack.json";

/// Returns the files of a folder whose names end so, by name.
pub(crate) fn files_in(folder: &Path, ending: &str) -> io::Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let entry = entry?;
        let is_pack =
            entry.file_name().to_str().is_some_and(|name| name.ends_with(ending) && !name.starts_with('.'));
        found.extend(is_pack.then(|| entry.path()));
    }
    found.sort();
    Ok(found)
}

/// Why a pack cannot be made or taken. What a hostile file wrote may be of any length, so texts of it are cut.
#[derive(Debug, Error)]
pub(crate) enum PackError {
    #[error("it cannot be read: {0}")]
    Io(#[from] io::Error),
    /// It is no JSON document, or one that readers could read differently.
    #[error("it is no proper JSON document: {}", cut(.0))]
    NoJson(String),
    #[error("it is not built like a pack: {}", few(.0))]
    Invalid(Vec<String>),
    #[error(
        "\"{}\" can't be the name of a procedure or a module everywhere; use small letters, digits, - and _",
        cut(.0)
    )]
    Name(String),
    #[error("\"{}\" and \"{}\" are one file on some systems", cut(.0), cut(.1))]
    Alike(String, String),
    /// Its version is not in its only spelling.
    #[error("\"{}\" is no version; write three numbers without leading zeros, as in 1.0.0", cut(.0))]
    Version(String),
    /// The signer's name cannot be shown; says why.
    #[error("{0}")]
    SignerName(String),
    /// The signature is not that of the key over the document; who is said to have signed it.
    #[error(
        "the signature does not fit: it was changed after \"{}\" signed it, or somebody else signed it in that name",
        cut(.0)
    )]
    Signature(String),
    #[error("{} is not the file of its digest", cut(.0))]
    Digest(String),
    /// A picture that is none, or that nothing shows; says why.
    #[error("the picture {} can't be taken: {}", cut(.0), .1)]
    Picture(String, String),
    /// The procedure has faults; how they look with their lines.
    #[error("the procedure has faults:\n{0}")]
    Faults(String),
    #[error(
        "it says that the {what} is \"{}\", but the procedure itself says \"{}\"",
        cut(pack),
        cut(procedure)
    )]
    Declared { what: &'static str, pack: String, procedure: String },
}

impl From<serde_json::Error> for PackError {
    fn from(error: serde_json::Error) -> PackError {
        PackError::NoJson(error.to_string())
    }
}

fn cut(text: &str) -> String {
    const LONGEST: usize = 200;
    let mut shown: String = text.chars().take(LONGEST).collect();
    if shown.len() < text.len() {
        shown.push_str(" ...");
    }
    shown
}

fn few(breaches: &[String]) -> String {
    const MOST: usize = 5;
    let shown: Vec<_> = breaches.iter().take(MOST).map(|breach| cut(breach)).collect();
    let more = breaches.len().saturating_sub(MOST);
    let more = if more > 0 { format!("; and {more} more") } else { String::new() };
    format!("{}{more}", shown.join("; "))
}
