//! Passing procedures on: packs that are signed, signers that are trusted, what a new version changes, and where
//! procedures live.

mod canonical;
mod catalogue;
mod change;
mod circuit_changes;
mod difference;
mod fingerprint;
mod hex;
mod index;
mod installed;
mod own_key;
mod pack;
mod pack_error;
mod public_key;
mod receipt;
mod schema;
mod signer_name;
mod step_changes;
mod strict_json;
mod text_changes;
mod trust;
mod version;
mod writing;

pub use canonical::signed_bytes;
pub use catalogue::{Entry, Place, catalogue, find};
pub use change::Change;
pub use difference::difference;
pub use index::{INDEX, Index, IndexError, Listed};
pub use installed::{InstalledError, install, installed, open_installed};
pub use own_key::{KeyError, OwnKey};
pub use pack::{LARGEST_PACK, Pack, PackedFile};
pub use pack_error::PackError;
pub use public_key::{PublicKey, SignerKey};
pub use receipt::{Current, Novelty, Receipt};
pub use schema::{INDEX_SCHEMA, PACK_SCHEMA};
pub use strict_json::parse_strict;
pub use trust::{Standing, Trust, TrustError};
pub use version::{NoVersion, Version};
pub use writing::read_limited;
