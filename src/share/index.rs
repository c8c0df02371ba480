use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::canonical::signed_bytes;
use super::hex::to_hex;
use super::own_key::OwnKey;
use super::pack::{LARGEST_PACK, Pack};
use super::pack_error::PackError;
use super::public_key::SignerKey;
use super::schema::check_index;
use super::signer_name::check_name;
use super::strict_json::parse_strict;
use super::version::Version;
use super::writing::{read_limited, write_whole};

const FORMAT: &str = "spoolproof/index/1";
/// Name of the index in a folder of packs.
pub const INDEX: &str = "index.json";
const LARGEST_INDEX: u64 = 8 << 20;

/// What a folder of packs holds, signed by whoever keeps it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Index {
    format: String,
    procedures: Vec<Listed>,
    signer: SignerKey,
    signature: String,
}

/// A procedure of an index.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Listed {
    /// Its short name.
    pub id: String,
    /// Its version.
    pub version: String,
    /// Its title.
    pub title: String,
    /// The unit that it tests; none for a bench job.
    pub unit: Option<String>,
    /// How many circuits it tests.
    pub circuits: usize,
    /// Complaints that it is for.
    pub symptoms: Vec<String>,
    /// Who signed it.
    pub signer: SignerKey,
    /// The pack's file in the folder.
    pub pack: String,
    /// SHA-256 of the pack's bytes.
    pub sha256: String,
}

/// Why an index cannot be written or used.
#[derive(Debug)]
pub enum IndexError {
    /// The disk refused.
    Io(PathBuf, io::Error),
    /// The index is not in order.
    Index(PackError),
    /// A pack is not in order.
    Pack(PathBuf, PackError),
    /// A pack is not the one that the index lists.
    Other(PathBuf),
    /// There is another pack of that name.
    Exists(PathBuf),
}

impl fmt::Display for IndexError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            IndexError::Io(path, error) => write!(f, "{}: {error}", path.display()),
            IndexError::Index(error) => write!(f, "the index: {error}"),
            IndexError::Pack(path, error) => write!(f, "{}: {error}", path.display()),
            IndexError::Other(path) => {
                write!(f, "{} is not the pack that the index lists; get both again", path.display())
            }
            IndexError::Exists(path) => write!(
                f,
                "{} is there with other content; a version never changes, so raise the version of the procedure",
                path.display()
            ),
        }
    }
}

impl std::error::Error for IndexError {}

impl Index {
    /// Puts packs into a folder, and writes the index of everything that is there; returns it, and the packs that were
    /// left out because they are not in order.
    ///
    /// # Errors
    /// Where another pack has the name of one of these, or the disk refuses.
    pub fn share(
        folder: &Path,
        packs: &[Pack],
        own: &OwnKey,
    ) -> Result<(Index, Vec<IndexError>), IndexError> {
        let failed = |path: &Path| {
            let path = path.to_owned();
            move |error| IndexError::Io(path, error)
        };
        std::fs::create_dir_all(folder).map_err(failed(folder))?;
        for pack in packs {
            let path = folder.join(pack.file_name());
            let text = pack.document().map_err(|error| IndexError::Pack(path.clone(), error))?;
            match read_limited(&path, LARGEST_PACK) {
                Ok(there) if there == text.as_bytes() => {}
                Ok(_) => return Err(IndexError::Exists(path)),
                Err(_) => write_whole(&path, text.as_bytes()).map_err(failed(&path))?,
            }
        }
        let (mut procedures, mut left_out) = (Vec::new(), Vec::new());
        for path in packs_in(folder).map_err(failed(folder))? {
            match Listed::of(&path) {
                Ok(listed) => procedures.push(listed),
                Err(error) => left_out.push(error),
            }
        }
        procedures.sort_by_key(|listed| (listed.id.clone(), listed.version.parse::<Version>().ok()));
        let mut index =
            Index { format: FORMAT.to_owned(), procedures, signer: own.signer(), signature: String::new() };
        index.signature = own.sign(&signed_bytes(&index).map_err(no_json)?);
        let text = serde_json::to_string_pretty(&index).map_err(no_json)? + "\n";
        let path = folder.join(INDEX);
        write_whole(&path, text.as_bytes()).map_err(failed(&path))?;
        Ok((index, left_out))
    }

    /// Reads an index and verifies it.
    ///
    /// # Errors
    /// Where it cannot be read or is not in order.
    pub fn read(path: &Path) -> Result<Index, IndexError> {
        let bytes =
            read_limited(path, LARGEST_INDEX).map_err(|error| IndexError::Io(path.to_owned(), error))?;
        Index::from_bytes(&bytes).map_err(IndexError::Index)
    }

    /// Reads an index of its bytes and verifies it.
    ///
    /// # Errors
    /// The first thing that is wrong with it.
    pub fn from_bytes(bytes: &[u8]) -> Result<Index, PackError> {
        let document = parse_strict(bytes).map_err(PackError::NoJson)?;
        check_index(&document).map_err(PackError::Invalid)?;
        let index: Index = serde_json::from_value(document.clone())
            .map_err(|error| PackError::Invalid(vec![error.to_string()]))?;
        check_name(&index.signer.name).map_err(PackError::SignerName)?;
        let message = signed_bytes(&document).map_err(|error| PackError::NoJson(error.to_string()))?;
        if !index.signer.public_key.verifies(&message, &index.signature) {
            return Err(PackError::Signature(index.signer.name));
        }
        Ok(index)
    }

    /// Returns what it lists, by name and version.
    pub fn procedures(&self) -> &[Listed] {
        &self.procedures
    }

    /// Returns who signed it.
    pub fn signer(&self) -> &SignerKey {
        &self.signer
    }
}

impl Listed {
    /// Reads a pack's entry.
    fn of(path: &Path) -> Result<Listed, IndexError> {
        let failed = |error| IndexError::Pack(path.to_owned(), error);
        let bytes = read_limited(path, LARGEST_PACK).map_err(|error| failed(PackError::Io(error)))?;
        let pack = Pack::read(&bytes).map_err(failed)?;
        let program = pack.program().map_err(failed)?;
        let outline =
            program.outline().map_err(|fault| failed(PackError::Faults(program.source.render(&[fault]))))?;
        let mut symptoms: Vec<_> =
            outline.circuits.iter().flat_map(|circuit| circuit.symptoms.iter().cloned()).collect();
        symptoms.sort();
        symptoms.dedup();
        Ok(Listed {
            id: pack.id().to_owned(),
            version: pack.version().to_string(),
            title: pack.title().to_owned(),
            unit: pack.unit().map(str::to_owned),
            circuits: outline.circuits.len(),
            symptoms,
            signer: pack.signer().clone(),
            pack: pack.file_name(),
            sha256: to_hex(&Sha256::digest(&bytes)),
        })
    }

    /// Reads the pack itself from the folder of the index; returns its bytes with it.
    ///
    /// # Errors
    /// Where it cannot be read, is not in order, or is not the one that is listed.
    pub fn open(&self, folder: &Path) -> Result<(Pack, Vec<u8>), IndexError> {
        let path = folder.join(&self.pack);
        let failed = |error| IndexError::Pack(path.clone(), error);
        let bytes = read_limited(&path, LARGEST_PACK).map_err(|error| failed(PackError::Io(error)))?;
        if to_hex(&Sha256::digest(&bytes)) != self.sha256 {
            return Err(IndexError::Other(path));
        }
        Ok((Pack::read(&bytes).map_err(failed)?, bytes))
    }
}

/// Returns the packs of a folder, by name.
fn packs_in(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let entry = entry?;
        let is_pack = entry
            .file_name()
            .to_str()
            .is_some_and(|name| name.ends_with(".pack.json") && !name.starts_with('.'));
        found.extend(is_pack.then(|| entry.path()));
    }
    found.sort();
    Ok(found)
}

fn no_json(error: serde_json::Error) -> IndexError {
    IndexError::Index(PackError::NoJson(error.to_string()))
}
