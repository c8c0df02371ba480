use serde_json::Value;
use sha2::{Digest, Sha256};

use super::canonical::canonical;

/// Returns SHA-256, in hexadecimal, over the canonical form (RFC 8785) of a record without its `digest`.
pub fn digest(document: &Value) -> String {
    Sha256::digest(canonical(document, "digest")).iter().map(|byte| format!("{byte:02x}")).collect()
}
