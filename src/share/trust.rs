use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::files::{read_limited, write_whole};
use super::sign::{OwnKey, SignerKey, check_name, is_alike, is_same_name};
use super::strict_json::parse_strict;
use crate::record::Shop;

const FORMAT: &str = "spoolproof/trust/1";
const LARGEST_FILE: u64 = 1 << 20;

/// Whom a shop trusts to sign procedures, by name and key.
#[derive(Debug, Clone)]
pub(crate) struct Trust {
    path: PathBuf,
    own: Option<SignerKey>,
    trusted: Vec<SignerKey>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct TrustFile {
    format: String,
    signers: Vec<SignerKey>,
}

/// How a signer stands with a shop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum SignerStanding {
    Own,
    Trusted,
    /// Nobody knows it; where its name could be taken for a known one, that one.
    Stranger(Option<String>),
    /// Its name is known, with another key.
    OtherKey(SignerKey),
    /// Its key is known, under another name.
    OtherName(SignerKey),
}

/// Why the list of trusted signers cannot be used or changed.
#[derive(Debug, Error)]
pub(crate) enum TrustError {
    #[error("{}: {source}", path.display())]
    Io { path: PathBuf, source: io::Error },
    /// The file is no list of signers; says why.
    #[error("{} is no list of signers: {why}", path.display())]
    Unreadable { path: PathBuf, why: String },
    #[error(
        "the name \"{}\" is known with another key, whose fingerprint is {}",
        .0.name,
        .0.public_key.fingerprint()
    )]
    OtherKey(SignerKey),
    #[error("the key is known as that of \"{}\"", .0.name)]
    OtherName(SignerKey),
    #[error("no trusted signer is called \"{0}\"")]
    Unknown(String),
}

impl Trust {
    /// Reads whom a shop trusts; nobody but itself where nothing has been received.
    pub(crate) fn of(shop: &Shop, own: Option<&OwnKey>) -> Result<Trust, TrustError> {
        let path = shop.trusted();
        let own = own.map(OwnKey::signer);
        let bytes = match read_limited(&path, LARGEST_FILE) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                return Ok(Trust { path, own, trusted: Vec::new() });
            }
            Err(source) => return Err(TrustError::Io { path, source }),
        };
        match read(&bytes) {
            Ok(trusted) => Ok(Trust { path, own, trusted }),
            Err(why) => Err(TrustError::Unreadable { path, why }),
        }
    }

    /// Returns the trusted signers, by name.
    pub(crate) fn signers(&self) -> &[SignerKey] {
        &self.trusted
    }

    /// Returns how a signer stands with the shop.
    pub(crate) fn standing(&self, signer: &SignerKey) -> SignerStanding {
        let same_name = |known: &&SignerKey| is_same_name(&known.name, &signer.name);
        let same_key = |known: &&SignerKey| known.public_key == signer.public_key;
        let known = || self.own.iter().chain(&self.trusted);
        if let Some(known) = known().find(same_name) {
            let is_own = self.own.as_ref() == Some(known);
            return match known.public_key == signer.public_key {
                true if is_own => SignerStanding::Own,
                true => SignerStanding::Trusted,
                false => SignerStanding::OtherKey(known.clone()),
            };
        }
        if let Some(known) = known().find(same_key) {
            return SignerStanding::OtherName(known.clone());
        }
        let alike = known().find(|known| is_alike(&known.name, &signer.name));
        SignerStanding::Stranger(alike.map(|known| known.name.clone()))
    }

    /// Returns whether what a signer signed may be used.
    pub(crate) fn trusts(&self, signer: &SignerKey) -> bool {
        matches!(self.standing(signer), SignerStanding::Own | SignerStanding::Trusted)
    }

    pub(crate) fn add(&mut self, signer: &SignerKey) -> Result<(), TrustError> {
        match self.standing(signer) {
            SignerStanding::Own | SignerStanding::Trusted => return Ok(()),
            SignerStanding::OtherKey(known) => return Err(TrustError::OtherKey(known)),
            SignerStanding::OtherName(known) => return Err(TrustError::OtherName(known)),
            SignerStanding::Stranger(_) => {}
        }
        self.trusted.push(signer.clone());
        self.trusted.sort_by_key(|signer| signer.name.to_lowercase());
        self.store()
    }

    /// No longer trusts the signer of this name; returns who that was.
    pub(crate) fn forget(&mut self, name: &str) -> Result<SignerKey, TrustError> {
        let at = self.trusted.iter().position(|signer| is_same_name(&signer.name, name));
        let forgotten = self.trusted.remove(at.ok_or_else(|| TrustError::Unknown(name.to_owned()))?);
        self.store().map(|()| forgotten)
    }

    fn store(&self) -> Result<(), TrustError> {
        let stored = TrustFile { format: FORMAT.to_owned(), signers: self.trusted.clone() };
        let failed = |source: io::Error| TrustError::Io { path: self.path.clone(), source };
        let mut text = serde_json::to_string_pretty(&stored).map_err(|error| failed(error.into()))?;
        text.push('\n');
        std::fs::create_dir_all(self.path.parent().unwrap_or(Path::new("."))).map_err(failed)?;
        write_whole(&self.path, text.as_bytes()).map_err(failed)
    }
}

fn read(bytes: &[u8]) -> Result<Vec<SignerKey>, String> {
    let stored: TrustFile =
        serde_json::from_value(parse_strict(bytes)?).map_err(|error| error.to_string())?;
    if stored.format != FORMAT {
        return Err(format!("its format is {}", stored.format));
    }
    stored.signers.iter().try_for_each(|signer| check_name(&signer.name))?;
    Ok(stored.signers)
}
