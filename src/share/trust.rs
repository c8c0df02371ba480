use std::fmt;
use std::io;
use std::path::PathBuf;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::sign::{check_name, is_alike, is_same_name};
use super::strict_json::parse_strict;
use super::version::Version;
use super::withdrawal::check_reason;
use crate::disk::{self, Alone, LARGEST_SETTINGS, write_whole};
use crate::record::{Shop, Signer, SignerKey};

const FORMAT: &str = "spoolproof/trust/2";

/// Whom a shop trusts to sign procedures, by name and key, and as whom it signs itself. That stands here too, since
/// only whoever made the key can read it, and others of the shop want to know.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Trust {
    format: String,
    own: Option<SignerKey>,
    signers: Vec<SignerKey>,
    withdrawn: Vec<Withdrawn>,
}

/// A version that is used no longer, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Withdrawn {
    pub(crate) id: String,
    pub(crate) version: Version,
    pub(crate) reason: String,
    /// Its signer, who withdrew it; none where the shop decided so by itself, whoever signed it.
    pub(crate) by: Option<SignerKey>,
}

impl fmt::Display for Withdrawn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let by = self.by.as_ref().map_or("this shop", |signer| &signer.name);
        // What follows begins a sentence of its own.
        let reason = self.reason.trim().trim_end_matches('.');
        write!(f, "{} {} was withdrawn by {by}: {reason}", self.id, self.version)
    }
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
    #[error(
        "{} is no list of signers: {why}. Move it away, and receive the packs again: that asks whom to trust",
        path.display()
    )]
    Unreadable { path: PathBuf, why: String },
    #[error(
        "the name \"{}\" is known with another key, whose fingerprint is {}",
        .0.name,
        .0.public_key.fingerprint()
    )]
    OtherKey(SignerKey),
    #[error("the key is known as that of \"{}\"", .0.name)]
    OtherName(SignerKey),
    /// What is wrong with the reason for a withdrawal.
    #[error("{0}")]
    Reason(String),
    #[error("no trusted signer is called \"{0}\"")]
    Unknown(String),
}

impl Trust {
    /// Reads whom a shop trusts; nobody but itself where nothing has been received.
    pub(crate) fn of(shop: &Shop) -> Result<Trust, TrustError> {
        let path = shop.trusted();
        let bytes = match disk::read(&path, LARGEST_SETTINGS) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                return Ok(Trust {
                    format: FORMAT.to_owned(),
                    own: None,
                    signers: Vec::new(),
                    withdrawn: Vec::new(),
                });
            }
            Err(source) => return Err(TrustError::Io { path, source }),
        };
        read(&bytes).map_err(|why| TrustError::Unreadable { path, why })
    }

    /// Returns as whom the shop signs, once it has.
    pub(crate) fn own(&self) -> Option<&SignerKey> {
        self.own.as_ref()
    }

    /// Returns the trusted signers, by name.
    pub(crate) fn signers(&self) -> &[SignerKey] {
        &self.signers
    }

    /// Returns how a signer stands with the shop.
    pub(crate) fn standing(&self, signer: &SignerKey) -> SignerStanding {
        let same_name = |known: &&SignerKey| is_same_name(&known.name, &signer.name);
        let same_key = |known: &&SignerKey| known.public_key == signer.public_key;
        let known = || self.own.iter().chain(&self.signers);
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

    /// Trusts a signer from now on.
    pub(crate) fn add(shop: &Shop, signer: &SignerKey) -> Result<(), TrustError> {
        Trust::change(shop, |trust| {
            match trust.standing(signer) {
                SignerStanding::Own | SignerStanding::Trusted => return Ok(()),
                SignerStanding::OtherKey(known) => return Err(TrustError::OtherKey(known)),
                SignerStanding::OtherName(known) => return Err(TrustError::OtherName(known)),
                SignerStanding::Stranger(_) => {}
            }
            trust.signers.push(signer.clone());
            trust.signers.sort_by_key(|signer| signer.name.to_lowercase());
            Ok(())
        })
    }

    /// No longer trusts the signer of this name; returns who that was.
    pub(crate) fn forget(shop: &Shop, name: &str) -> Result<SignerKey, TrustError> {
        Trust::change(shop, |trust| {
            let at = trust.signers.iter().position(|signer| is_same_name(&signer.name, name));
            Ok(trust.signers.remove(at.ok_or_else(|| TrustError::Unknown(name.to_owned()))?))
        })
    }

    /// Returns the versions that are used no longer.
    pub(crate) fn all_withdrawn(&self) -> &[Withdrawn] {
        &self.withdrawn
    }

    /// Says why a version is used no longer, by whom it was signed; none where nobody withdrew it.
    pub(crate) fn withdrawn(
        &self,
        id: &str,
        version: Version,
        signer: Option<&Signer>,
    ) -> Option<&Withdrawn> {
        let is_by = |by: &Option<SignerKey>| by.as_ref().is_none_or(|by| Some(&by.signer()) == signer);
        self.withdrawn.iter().find(|known| known.id == id && known.version == version && is_by(&known.by))
    }

    /// Uses a version no longer from now on.
    pub(crate) fn withdraw(shop: &Shop, withdrawn: Withdrawn) -> Result<(), TrustError> {
        Trust::change(shop, |trust| {
            check_reason(&withdrawn.reason).map_err(|why| TrustError::Reason(why.to_string()))?;
            if !trust.withdrawn.contains(&withdrawn) {
                trust.withdrawn.push(withdrawn);
            }
            Ok(())
        })
    }

    /// Takes the shop's own decisions on a version back; returns whether there was one. What its
    /// signer withdrew stays so.
    pub(crate) fn restore(shop: &Shop, id: &str, version: Version) -> Result<bool, TrustError> {
        Trust::change(shop, |trust| {
            let before = trust.withdrawn.len();
            trust.withdrawn.retain(|known| known.by.is_some() || known.id != id || known.version != version);
            Ok(trust.withdrawn.len() < before)
        })
    }

    /// Keeps as whom the shop signs.
    pub(crate) fn sign_as(shop: &Shop, own: &SignerKey) -> Result<(), TrustError> {
        Trust::change(shop, |trust| {
            trust.own = Some(own.clone());
            Ok(())
        })
    }

    /// Changes the list as it stands on the disk, while no other program does.
    fn change<T>(
        shop: &Shop,
        change: impl FnOnce(&mut Trust) -> Result<T, TrustError>,
    ) -> Result<T, TrustError> {
        let path = shop.trusted();
        let failed = |source: io::Error| TrustError::Io { path: path.clone(), source };
        let _alone = Alone::in_folder(shop.root()).map_err(failed)?;
        let mut trust = Trust::of(shop)?;
        let changed = change(&mut trust)?;
        let text = serde_json::to_string_pretty(&trust).map_err(|error| failed(error.into()))? + "\n";
        write_whole(&path, text.as_bytes()).map_err(failed)?;
        Ok(changed)
    }
}

fn read(bytes: &[u8]) -> Result<Trust, String> {
    let trust: Trust = serde_json::from_value(parse_strict(bytes)?).map_err(|error| error.to_string())?;
    if trust.format != FORMAT {
        return Err(format!("its format is {}", trust.format));
    }
    trust.own.iter().chain(&trust.signers).try_for_each(|signer| check_name(&signer.name))?;
    Ok(trust)
}
