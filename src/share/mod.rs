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

#[cfg(test)]
pub use canonical::signed_bytes;
pub use catalogue::{Entry, Place, catalogue, find};
#[cfg(test)]
pub use change::Change;
#[cfg(test)]
pub use difference::difference;
pub use index::{INDEX, Index, Listed};
pub use installed::{install, installed, open_installed};
pub use own_key::OwnKey;
#[cfg(test)]
pub use pack::PackedFile;
pub use pack::{LARGEST_PACK, Pack};
#[cfg(test)]
pub use pack_error::PackError;
#[cfg(test)]
pub use public_key::PublicKey;
pub use receipt::{Novelty, Receipt};
#[cfg(test)]
pub use strict_json::parse_strict;
pub use trust::{Standing, Trust};
pub use version::Version;
pub use writing::read_limited;
