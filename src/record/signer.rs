//! Who signed a document: a public key, its fingerprint, and whether a signature is its.

use curve25519_dalek::edwards::CompressedEdwardsY;
use data_encoding::HEXLOWER;
use ed25519_zebra::{Signature, VerificationKey, batch};
use getrandom::SysRng;
use getrandom::rand_core::UnwrapErr;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::Signer;

/// A signer's public key (Ed25519, RFC 8032).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(with = "String"))]
#[serde(try_from = "String", into = "String")]
pub struct PublicKey([u8; 32]);

/// Who signed a document, as the document says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct SignerKey {
    /// The name that the signer goes by.
    pub name: String,
    /// Its public key, 32 bytes in hexadecimal.
    pub public_key: PublicKey,
}

impl SignerKey {
    /// Returns the signer as records name it.
    pub(crate) fn signer(&self) -> Signer {
        Signer { name: self.name.clone(), fingerprint: self.public_key.fingerprint() }
    }
}

impl PublicKey {
    pub(crate) fn new(bytes: [u8; 32]) -> PublicKey {
        PublicKey(bytes)
    }

    /// Returns six groups of five digits, which two people can compare over the telephone in any language.
    ///
    /// Each group is five bytes of SHA-256 over the key, as a number, without all but its last five decimal digits. Thirty
    /// digits are 99 bits: to find another key with the same fingerprint takes some 2^99 trials.
    pub(crate) fn fingerprint(&self) -> String {
        const N_GROUPS: usize = 6;
        let digest = Sha256::digest(self.0);
        let group =
            |bytes: &[u8]| bytes.iter().fold(0_u64, |number, byte| number << 8 | u64::from(*byte)) % 100_000;
        let groups = digest.chunks(5).take(N_GROUPS).map(|bytes| format!("{:05}", group(bytes)));
        groups.collect::<Vec<_>>().join(" ")
    }

    /// Returns whether a signature of 64 bytes in hexadecimal is this key's over a message.
    pub(crate) fn verifies(&self, message: &[u8], signature: &str) -> bool {
        self.verifier().is_some_and(|verifier| verifier.verifies(message, signature))
    }

    /// Returns what its signatures are verified with; none where it is no point of the curve, or one of small order, which
    /// fits signatures of many messages.
    pub(crate) fn verifier(&self) -> Option<Verifier> {
        let point = CompressedEdwardsY(self.0).decompress().filter(|point| !point.is_small_order());
        point.and_then(|_| VerificationKey::try_from(self.0).ok()).map(Verifier)
    }
}

/// A public key as the point of the curve that it is, which takes some time to find.
#[derive(Debug, Clone)]
pub(crate) struct Verifier(VerificationKey);

impl Verifier {
    /// Returns whether a signature of 64 bytes in hexadecimal is its key's over a message, by RFC 8032, section 5.1.7, with the
    /// factor of eight. Only whoever has the key can write one in another way that fits too.
    pub(crate) fn verifies(&self, message: &[u8], signature: &str) -> bool {
        read(signature).is_some_and(|signature| self.0.verify(&signature, message).is_ok())
    }
}

/// Signatures over messages, to be verified together: by ZIP 215, which sees to it that all of them fit where each does alone,
/// and else not.
#[derive(Default)]
pub(crate) struct Signatures(batch::Verifier);

impl Signatures {
    /// Adds a signature that is said to be a key's over a message; returns whether it is written as one.
    pub(crate) fn add(&mut self, verifier: &Verifier, message: &[u8], signature: &str) -> bool {
        read(signature).map(|signature| self.0.queue((verifier.0.into(), signature, message))).is_some()
    }

    /// Returns whether all of them fit, which takes less than to verify them one by one. One that does not can hide with a
    /// probability of 2^-128.
    pub(crate) fn all_fit(self) -> bool {
        self.0.verify(UnwrapErr(SysRng)).is_ok()
    }
}

fn read(signature: &str) -> Option<Signature> {
    from_hex(signature).map(|signature| Signature::from_bytes(&signature))
}

impl TryFrom<String> for PublicKey {
    type Error = &'static str;

    fn try_from(text: String) -> Result<PublicKey, &'static str> {
        from_hex(&text).map(PublicKey).ok_or("a public key is 64 hexadecimal digits in lower case")
    }
}

impl From<PublicKey> for String {
    fn from(key: PublicKey) -> String {
        HEXLOWER.encode(&key.0)
    }
}

/// Reads lower-case hexadecimal of just so many bytes; upper case would be a second spelling of the same.
pub(crate) fn from_hex<const N: usize>(text: &str) -> Option<[u8; N]> {
    HEXLOWER.decode(text.as_bytes()).ok()?.try_into().ok()
}
