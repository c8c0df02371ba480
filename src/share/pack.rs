use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::canonical::signed_bytes;
use super::hex::to_hex;
use super::own_key::OwnKey;
use super::pack_error::PackError;
use super::public_key::SignerKey;
use super::schema::check_pack;
use super::signer_name::check_name;
use super::strict_json::parse_strict;
use super::version::Version;
use crate::procedure::{Program, Source, is_plain_name};
use crate::record::Origin;

const FORMAT: &str = "spoolproof/pack/1";
/// The largest pack that is read, in bytes.
pub const LARGEST_PACK: u64 = 1 << 20;

/// A procedure with its modules, signed: one JSON document that can be read, verified and installed.
///
/// There is none that has not been checked: names, digests and signature are right. That its procedure runs is checked by
/// [`Pack::program`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pack {
    format: String,
    id: String,
    title: String,
    unit: Option<String>,
    version: String,
    files: Vec<PackedFile>,
    signer: SignerKey,
    signature: String,
}

/// One file of a pack, as lines so that a person can read it there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PackedFile {
    /// Its name, as `tarn-t6-lower.rhai`.
    pub name: String,
    /// SHA-256 of its bytes, in hexadecimal.
    pub sha256: String,
    /// Its lines; joined by line feeds they are its bytes in UTF-8.
    pub lines: Vec<String>,
}

impl PackedFile {
    /// Returns the bytes of the file.
    pub fn bytes(&self) -> Vec<u8> {
        self.lines.join("\n").into_bytes()
    }
}

impl Pack {
    /// Packs a procedure and signs it.
    ///
    /// # Errors
    /// Where its names or its version could not be everywhere, or it has a fault on the way to its title.
    pub fn make(program: &Program, own: &OwnKey) -> Result<Pack, PackError> {
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
            signer: own.signer(),
            signature: String::new(),
        };
        pack.check_names()?;
        pack.signature =
            own.sign(&signed_bytes(&pack).map_err(|error| PackError::NoJson(error.to_string()))?);
        Ok(pack)
    }

    /// Reads a pack and checks everything about it but whether its procedure runs.
    ///
    /// # Errors
    /// The first thing that is wrong with it.
    pub fn read(bytes: &[u8]) -> Result<Pack, PackError> {
        let document = parse_strict(bytes).map_err(PackError::NoJson)?;
        check_pack(&document).map_err(PackError::Invalid)?;
        let pack: Pack = serde_json::from_value(document.clone())
            .map_err(|error| PackError::Invalid(vec![error.to_string()]))?;
        check_name(&pack.signer.name).map_err(PackError::SignerName)?;
        let message = signed_bytes(&document).map_err(|error| PackError::NoJson(error.to_string()))?;
        if !pack.signer.public_key.verifies(&message, &pack.signature) {
            return Err(PackError::Signature(pack.signer.name));
        }
        pack.check_names()?;
        for file in &pack.files {
            if to_hex(&Sha256::digest(file.bytes())) != file.sha256 {
                return Err(PackError::Digest(file.name.clone()));
            }
        }
        Ok(pack)
    }

    /// Compiles the procedure, and holds what the pack says of it against what it says of itself.
    ///
    /// # Errors
    /// Its faults, or where the two differ.
    pub fn program(&self) -> Result<Program, PackError> {
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

    /// Returns the pack as a document to be written.
    ///
    /// # Errors
    /// Where it cannot be written as JSON, which a pack always can.
    pub fn document(&self) -> Result<String, PackError> {
        let text =
            serde_json::to_string_pretty(self).map_err(|error| PackError::NoJson(error.to_string()))?;
        Ok(text + "\n")
    }

    /// Returns the procedure's short name.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// Returns the procedure's title.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Returns the unit that the procedure tests.
    pub fn unit(&self) -> Option<&str> {
        self.unit.as_deref()
    }

    /// Returns the procedure's version.
    pub fn version(&self) -> Version {
        self.version.parse().unwrap_or_else(|_| unreachable!("checked when the pack was made or read"))
    }

    /// Returns the files, the procedure's own first.
    pub fn files(&self) -> &[PackedFile] {
        &self.files
    }

    /// Returns who signed it.
    pub fn signer(&self) -> &SignerKey {
        &self.signer
    }

    /// Returns the name that the pack's file is given.
    pub fn file_name(&self) -> String {
        format!("{}-{}.pack.json", self.id, self.version)
    }

    /// Returns the procedure's text, with who signed it.
    pub(super) fn source(&self) -> Result<Source, PackError> {
        let files = self.files.iter().map(|file| (file.name.clone(), file.bytes()));
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
            let is_alike = |earlier: &&PackedFile| earlier.name.eq_ignore_ascii_case(&file.name);
            if let Some(earlier) = self.files[..index].iter().find(is_alike) {
                return Err(PackError::Alike(earlier.name.clone(), file.name.clone()));
            }
        }
        Ok(())
    }
}
