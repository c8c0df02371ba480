use sha2::{Digest, Sha256};

/// Groups of a fingerprint.
const N_GROUPS: usize = 6;

/// Returns the fingerprint of a public key: six groups of five digits, which two people can compare over the telephone
/// in any language.
///
/// Each group is five bytes of SHA-256 over the key, as a number, without all but its last five decimal digits. Thirty
/// digits are 99 bits: to find another key with the same fingerprint takes some 2^99 trials.
pub(super) fn fingerprint(public_key: &[u8; 32]) -> String {
    let digest = Sha256::digest(public_key);
    let group =
        |bytes: &[u8]| bytes.iter().fold(0_u64, |number, byte| number << 8 | u64::from(*byte)) % 100_000;
    let groups: Vec<_> =
        digest.chunks(5).take(N_GROUPS).map(|bytes| format!("{:05}", group(bytes))).collect();
    groups.join(" ")
}
