use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::own_key::OwnKey;
use super::public_key::SignerKey;
use super::signer_name::{check_name, is_alike, is_same_name};
use super::strict_json::parse_strict;
use super::writing::{read_limited, write_whole};
use crate::record::Shop;

const FORMAT: &str = "spoolproof/trust/1";
const LARGEST_FILE: u64 = 1 << 20;

/// Whom a shop trusts to sign procedures, by name and key.
#[derive(Debug, Clone)]
pub struct Trust {
    path: PathBuf,
    own: Option<SignerKey>,
    trusted: Vec<SignerKey>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Stored {
    format: String,
    signers: Vec<SignerKey>,
}

/// How a signer stands with a shop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Standing {
    /// It is the shop itself.
    Own,
    /// It is trusted.
    Trusted,
    /// Nobody knows it; where its name could be taken for a known one, that one.
    Stranger(Option<String>),
    /// Its name is known, with another key.
    OtherKey(SignerKey),
    /// Its key is known, under another name.
    OtherName(SignerKey),
}

/// Why the list of trusted signers cannot be used or changed.
#[derive(Debug)]
pub enum TrustError {
    /// The disk refused.
    Io(PathBuf, io::Error),
    /// The file is no list of signers; says why.
    Unreadable(PathBuf, String),
    /// The signer's name is known with another key.
    OtherKey(SignerKey),
    /// The signer's key is known under another name.
    OtherName(SignerKey),
    /// There is no trusted signer of that name.
    Unknown(String),
}

impl fmt::Display for TrustError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            TrustError::Io(path, error) => write!(f, "{}: {error}", path.display()),
            TrustError::Unreadable(path, why) => {
                write!(f, "{} is no list of signers: {why}", path.display())
            }
            TrustError::OtherKey(known) => write!(
                f,
                "the name \"{}\" is known with another key, whose fingerprint is {}",
                known.name,
                known.public_key.fingerprint()
            ),
            TrustError::OtherName(known) => write!(f, "the key is known as that of \"{}\"", known.name),
            TrustError::Unknown(name) => write!(f, "no trusted signer is called \"{name}\""),
        }
    }
}

impl std::error::Error for TrustError {}

impl Trust {
    /// Reads whom a shop trusts; nobody but itself where nothing has been received.
    ///
    /// # Errors
    /// Where the list cannot be read.
    pub fn of(shop: &Shop, own: Option<&OwnKey>) -> Result<Trust, TrustError> {
        let path = shop.trusted();
        let own = own.map(OwnKey::signer);
        let bytes = match read_limited(&path, LARGEST_FILE) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                return Ok(Trust { path, own, trusted: Vec::new() });
            }
            Err(error) => return Err(TrustError::Io(path, error)),
        };
        match read(&bytes) {
            Ok(trusted) => Ok(Trust { path, own, trusted }),
            Err(why) => Err(TrustError::Unreadable(path, why)),
        }
    }

    /// Returns the trusted signers, by name.
    pub fn signers(&self) -> &[SignerKey] {
        &self.trusted
    }

    /// Returns how a signer stands with the shop.
    pub fn standing(&self, signer: &SignerKey) -> Standing {
        let same_name = |known: &&SignerKey| is_same_name(&known.name, &signer.name);
        let same_key = |known: &&SignerKey| known.public_key == signer.public_key;
        let known = || self.own.iter().chain(&self.trusted);
        if let Some(known) = known().find(same_name) {
            let is_own = self.own.as_ref() == Some(known);
            return match known.public_key == signer.public_key {
                true if is_own => Standing::Own,
                true => Standing::Trusted,
                false => Standing::OtherKey(known.clone()),
            };
        }
        if let Some(known) = known().find(same_key) {
            return Standing::OtherName(known.clone());
        }
        let alike = known().find(|known| is_alike(&known.name, &signer.name));
        Standing::Stranger(alike.map(|known| known.name.clone()))
    }

    /// Returns whether what a signer signed may be used.
    pub fn trusts(&self, signer: &SignerKey) -> bool {
        matches!(self.standing(signer), Standing::Own | Standing::Trusted)
    }

    /// Trusts a signer from now on.
    ///
    /// # Errors
    /// Where its name or its key is known otherwise, or the disk refuses.
    pub fn add(&mut self, signer: &SignerKey) -> Result<(), TrustError> {
        match self.standing(signer) {
            Standing::Own | Standing::Trusted => return Ok(()),
            Standing::OtherKey(known) => return Err(TrustError::OtherKey(known)),
            Standing::OtherName(known) => return Err(TrustError::OtherName(known)),
            Standing::Stranger(_) => {}
        }
        self.trusted.push(signer.clone());
        self.trusted.sort_by_key(|signer| signer.name.to_lowercase());
        self.store()
    }

    /// No longer trusts the signer of this name; returns who that was.
    ///
    /// # Errors
    /// Where there is none of that name, or the disk refuses.
    pub fn forget(&mut self, name: &str) -> Result<SignerKey, TrustError> {
        let at = self.trusted.iter().position(|signer| is_same_name(&signer.name, name));
        let forgotten = self.trusted.remove(at.ok_or_else(|| TrustError::Unknown(name.to_owned()))?);
        self.store().map(|()| forgotten)
    }

    fn store(&self) -> Result<(), TrustError> {
        let stored = Stored { format: FORMAT.to_owned(), signers: self.trusted.clone() };
        let failed = |error: io::Error| TrustError::Io(self.path.clone(), error);
        let mut text = serde_json::to_string_pretty(&stored).map_err(|error| failed(error.into()))?;
        text.push('\n');
        std::fs::create_dir_all(self.path.parent().unwrap_or(Path::new("."))).map_err(failed)?;
        write_whole(&self.path, text.as_bytes()).map_err(failed)
    }
}

fn read(bytes: &[u8]) -> Result<Vec<SignerKey>, String> {
    let stored: Stored = serde_json::from_value(parse_strict(bytes)?).map_err(|error| error.to_string())?;
    if stored.format != FORMAT {
        return Err(format!("its format is {}", stored.format));
    }
    stored.signers.iter().try_for_each(|signer| check_name(&signer.name))?;
    Ok(stored.signers)
}
