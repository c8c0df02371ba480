use ed25519_dalek::{Signature, VerifyingKey};
use serde::{Deserialize, Serialize};

use super::fingerprint::fingerprint;
use super::hex::{from_hex, to_hex};
use crate::record::Signer;

/// A signer's public key (Ed25519, RFC 8032).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct PublicKey([u8; 32]);

/// Who signed a document, as the document says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SignerKey {
    /// The name that the signer goes by.
    pub name: String,
    /// The key that verifies the signature.
    pub public_key: PublicKey,
}

impl SignerKey {
    /// Returns the signer as records name it.
    pub fn signer(&self) -> Signer {
        Signer { name: self.name.clone(), fingerprint: self.public_key.fingerprint() }
    }
}

impl PublicKey {
    /// Takes the 32 bytes of a key.
    pub fn new(bytes: [u8; 32]) -> PublicKey {
        PublicKey(bytes)
    }

    /// Returns six groups of five digits, to be compared over the telephone.
    pub fn fingerprint(&self) -> String {
        fingerprint(&self.0)
    }

    /// Returns whether a signature of 64 bytes in hexadecimal is this key's over a message.
    ///
    /// Strictly: a key of small order, which fits signatures of many messages, and a signature that is written otherwise
    /// than its signer would (RFC 8032, section 8.4) are refused.
    pub fn verifies(&self, message: &[u8], signature: &str) -> bool {
        let (Ok(key), Some(signature)) = (VerifyingKey::from_bytes(&self.0), from_hex::<64>(signature))
        else {
            return false;
        };
        key.verify_strict(message, &Signature::from_bytes(&signature)).is_ok()
    }
}

impl TryFrom<String> for PublicKey {
    type Error = &'static str;

    fn try_from(text: String) -> Result<PublicKey, &'static str> {
        from_hex(&text).map(PublicKey).ok_or("a public key is 64 hexadecimal digits in lower case")
    }
}

impl From<PublicKey> for String {
    fn from(key: PublicKey) -> String {
        to_hex(&key.0)
    }
}
