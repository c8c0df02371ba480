use std::fmt;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use ed25519_dalek::{Signer as _, SigningKey};
use serde::{Deserialize, Serialize};

use super::hex::{from_hex, to_hex};
use super::public_key::{PublicKey, SignerKey};
use super::signer_name::check_name;
use super::writing::sync_folder;
use crate::record::Shop;

const FORMAT: &str = "spoolproof/key/1";

/// The key that a shop signs with, and the name that it signs as.
pub struct OwnKey {
    name: String,
    key: SigningKey,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Stored {
    format: String,
    name: String,
    secret_key: String,
}

/// Why a shop has no key to sign with.
#[derive(Debug)]
pub enum KeyError {
    /// The disk refused.
    Io(PathBuf, io::Error),
    /// The file holds no key.
    Unreadable(PathBuf),
    /// Others than its owner can read the file.
    Open(PathBuf),
    /// The system has no random numbers.
    NoChance(getrandom::Error),
    /// The name cannot be signed with; says why.
    Name(String),
    /// There is a key, which signs as somebody else.
    OtherName(String),
}

impl fmt::Display for KeyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            KeyError::Io(path, error) => write!(f, "{}: {error}", path.display()),
            KeyError::Unreadable(path) => write!(f, "{} holds no key of this program", path.display()),
            KeyError::Open(path) => write!(
                f,
                "others can read {}, so others could sign in your name; if nobody has, make it yours alone: \
                 chmod 600, else remove it and tell everybody who trusts you",
                path.display()
            ),
            KeyError::NoChance(error) => write!(f, "the system gives no random numbers: {error}"),
            KeyError::Name(why) => f.write_str(why),
            KeyError::OtherName(name) => write!(
                f,
                "this shop signs as \"{name}\" already; a signer keeps its name, or nobody knows whom to trust"
            ),
        }
    }
}

impl std::error::Error for KeyError {}

impl OwnKey {
    /// Returns the shop's key, where it has one.
    ///
    /// # Errors
    /// Where the file cannot be read, is no key, or is open to others than its owner.
    pub fn of(shop: &Shop) -> Result<Option<OwnKey>, KeyError> {
        let path = shop.key();
        let text = match fs::read_to_string(&path) {
            Ok(text) => text,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(KeyError::Io(path, error)),
        };
        if !is_private(&path).map_err(|error| KeyError::Io(path.clone(), error))? {
            return Err(KeyError::Open(path));
        }
        let stored: Option<Stored> = serde_json::from_str(&text).ok();
        let stored = stored.filter(|stored| stored.format == FORMAT && check_name(&stored.name).is_ok());
        let key = stored.and_then(|stored| Some((stored.name, from_hex(&stored.secret_key)?)));
        match key {
            Some((name, secret)) => Ok(Some(OwnKey { name, key: SigningKey::from_bytes(&secret) })),
            None => Err(KeyError::Unreadable(path)),
        }
    }

    /// Makes the shop's key, which signs as this name, and stores it for its owner only.
    ///
    /// # Errors
    /// Where there is one, the name is none, or the disk refuses.
    pub fn make(shop: &Shop, name: &str) -> Result<OwnKey, KeyError> {
        check_name(name).map_err(KeyError::Name)?;
        if let Some(own) = OwnKey::of(shop)? {
            return Err(KeyError::OtherName(own.name));
        }
        let mut secret = [0; 32];
        getrandom::fill(&mut secret).map_err(KeyError::NoChance)?;
        let own = OwnKey { name: name.to_owned(), key: SigningKey::from_bytes(&secret) };
        let path = shop.key();
        own.store(&path).map_err(|error| KeyError::Io(path, error))?;
        Ok(own)
    }

    /// Makes a key of 32 secret bytes, without storing it.
    ///
    /// # Errors
    /// Where the name is none.
    pub fn from_secret(name: &str, secret: [u8; 32]) -> Result<OwnKey, KeyError> {
        check_name(name).map_err(KeyError::Name)?;
        Ok(OwnKey { name: name.to_owned(), key: SigningKey::from_bytes(&secret) })
    }

    /// Returns who signs, as documents say it.
    pub fn signer(&self) -> SignerKey {
        let public_key = PublicKey::new(self.key.verifying_key().to_bytes());
        SignerKey { name: self.name.clone(), public_key }
    }

    /// Signs a message; returns 64 bytes in hexadecimal.
    pub fn sign(&self, message: &[u8]) -> String {
        to_hex(&self.key.sign(message).to_bytes())
    }

    fn store(&self, path: &Path) -> io::Result<()> {
        let stored = Stored {
            format: FORMAT.to_owned(),
            name: self.name.clone(),
            secret_key: to_hex(&self.key.to_bytes()),
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
