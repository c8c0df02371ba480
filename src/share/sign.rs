//! Who signs: the shop's own key, and what a signer may be called.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use data_encoding::HEXLOWER;
use ed25519_zebra::{SigningKey, VerificationKey};
use serde::{Deserialize, Serialize};
use thiserror::Error;
use unicode_normalization::UnicodeNormalization;

use crate::console::{hidden, looks};
use crate::disk::{LARGEST_SETTINGS, read_text, sync_folder};
use crate::record::{PublicKey, Record, Shop, SignerKey, from_hex, signed_bytes_of};

const FORMAT: &str = "spoolproof/key/1";

/// The key that a shop signs with, and the name that it signs as.
pub(crate) struct OwnKey {
    name: String,
    key: SigningKey,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct KeyFile {
    format: String,
    name: String,
    secret_key: String,
}

/// Why a shop has no key to sign with.
#[derive(Debug, Error)]
pub(crate) enum KeyError {
    #[error("{}: {source}", path.display())]
    Io { path: PathBuf, source: io::Error },
    #[error("{} holds no key of this program", .0.display())]
    Unreadable(PathBuf),
    #[error(
        "others can read {}, so others could sign in your name; if nobody has, make it yours alone: chmod 600, else remove it \
         and tell everybody who trusts you",
        .0.display()
    )]
    Open(PathBuf),
    #[error("the system gives no random numbers: {0}")]
    NoChance(getrandom::Error),
    /// The name cannot be signed with; says why.
    #[error("{0}")]
    Name(String),
    /// There is a key, which signs as this.
    #[error("this shop signs as \"{0}\" already; a signer keeps its name, or nobody knows whom to trust")]
    OtherName(String),
}

impl OwnKey {
    /// Returns the shop's key, where it has one.
    pub(crate) fn of(shop: &Shop) -> Result<Option<OwnKey>, KeyError> {
        let path = shop.key();
        let text = match read_text(&path, LARGEST_SETTINGS) {
            Ok(text) => text,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(source) => return Err(KeyError::Io { path, source }),
        };
        if !is_private(&path).map_err(|source| KeyError::Io { path: path.clone(), source })? {
            return Err(KeyError::Open(path));
        }
        let stored: Option<KeyFile> = serde_json::from_str(&text).ok();
        let stored = stored.filter(|stored| stored.format == FORMAT && check_name(&stored.name).is_ok());
        let key = stored.and_then(|stored| Some((stored.name, from_hex(&stored.secret_key)?)));
        match key {
            Some((name, secret)) => Ok(Some(OwnKey { name, key: SigningKey::from_bytes(&secret) })),
            None => Err(KeyError::Unreadable(path)),
        }
    }

    /// Makes the shop's key, which signs as this name, and stores it for its owner only.
    pub(crate) fn make(shop: &Shop, name: &str) -> Result<OwnKey, KeyError> {
        check_name(name).map_err(KeyError::Name)?;
        if let Some(own) = OwnKey::of(shop)? {
            return Err(KeyError::OtherName(own.name));
        }
        let mut secret = [0; 32];
        getrandom::fill(&mut secret).map_err(KeyError::NoChance)?;
        let own = OwnKey { name: name.to_owned(), key: SigningKey::from_bytes(&secret) };
        let path = shop.key();
        own.store(&path).map_err(|source| KeyError::Io { path, source })?;
        Ok(own)
    }

    /// Makes a key of 32 secret bytes, without storing it.
    #[cfg(test)]
    pub(crate) fn from_secret(name: &str, secret: [u8; 32]) -> Result<OwnKey, KeyError> {
        check_name(name).map_err(KeyError::Name)?;
        Ok(OwnKey { name: name.to_owned(), key: SigningKey::from_bytes(&secret) })
    }

    /// Returns who signs, as documents say it.
    pub(crate) fn signer(&self) -> SignerKey {
        let public_key = PublicKey::new(VerificationKey::from(&self.key).into());
        SignerKey { name: self.name.clone(), public_key }
    }

    /// Signs a message; returns 64 bytes in hexadecimal.
    pub(crate) fn sign(&self, message: &[u8]) -> String {
        HEXLOWER.encode(&self.key.sign(message).to_bytes())
    }

    /// Signs a record that has its digest.
    pub(crate) fn sign_record(&self, record: Record) -> serde_json::Result<Record> {
        let signer = self.signer();
        let message = signed_bytes_of(record.digest.as_deref().unwrap_or_default(), &signer)?;
        Ok(Record { signer: Some(signer), signature: Some(self.sign(&message)), ..record })
    }

    fn store(&self, path: &Path) -> io::Result<()> {
        let stored = KeyFile {
            format: FORMAT.to_owned(),
            name: self.name.clone(),
            secret_key: HEXLOWER.encode(&self.key.to_bytes()),
        };
        let folder = path.parent().unwrap_or(Path::new("."));
        make_private_folder(folder)?;
        // A temporary file is its owner's alone from the start.
        let mut file = tempfile::NamedTempFile::new_in(folder)?;
        file.write_all(serde_json::to_string_pretty(&stored)?.as_bytes())?;
        file.write_all(b"\n")?;
        file.as_file().sync_all()?;
        file.persist_noclobber(path).map_err(|error| error.error)?;
        sync_folder(folder)
    }
}

#[cfg(unix)]
fn is_private(path: &Path) -> io::Result<bool> {
    use std::os::unix::fs::PermissionsExt;
    Ok(File::open(path)?.metadata()?.permissions().mode() & 0o077 == 0)
}

#[cfg(unix)]
fn make_private_folder(folder: &Path) -> io::Result<()> {
    use std::os::unix::fs::DirBuilderExt;
    fs::DirBuilder::new().recursive(true).mode(0o700).create(folder)
}

/// Where there are no such permissions, the user's own folder is the user's alone.
#[cfg(not(unix))]
fn is_private(path: &Path) -> io::Result<bool> {
    File::open(path).map(|_| true)
}

#[cfg(not(unix))]
fn make_private_folder(folder: &Path) -> io::Result<()> {
    fs::create_dir_all(folder)
}

const LONGEST_NAME: usize = 64;

/// Checks that a signer's name can be shown and told from others.
pub(super) fn check_name(name: &str) -> Result<(), String> {
    let n = name.chars().count();
    if n == 0 || n > LONGEST_NAME {
        return Err(format!("a signer's name has 1 to {LONGEST_NAME} characters, not {n}"));
    }
    if name.split_whitespace().collect::<Vec<_>>().join(" ") != name {
        return Err("a signer's name has single spaces between its words and none around them".to_owned());
    }
    match hidden(name).or_else(|| name.contains('\n').then_some('\n')) {
        Some(c) => Err(format!("a signer's name holds the hidden character U+{:04X}", u32::from(c))),
        None => Ok(()),
    }
}

/// Returns whether two names are the same to somebody who hears them, however their letters are put together (Unicode
/// Standard Annex #15, NFKC).
pub(super) fn is_same_name(one: &str, other: &str) -> bool {
    heard(one) == heard(other)
}

/// Returns a name as it is heard: the same for "Ann" and "ann ".
pub(crate) fn heard(name: &str) -> String {
    name.trim().nfkc().collect::<String>().to_lowercase()
}

/// Returns whether a name could be taken for another that it is not: it looks the same, or is one or two letters apart.
pub(super) fn is_alike(one: &str, other: &str) -> bool {
    let (seen, known) = (looks(one), looks(other));
    let is_short = seen.chars().count().min(known.chars().count()) < 4;
    !is_same_name(one, other)
        && (seen == known || strsim::damerau_levenshtein(&seen, &known) <= if is_short { 1 } else { 2 })
}
