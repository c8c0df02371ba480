use serde_json::Value;
use sha2::{Digest, Sha256};

/// Returns SHA-256, in hexadecimal, over the canonical form (RFC 8785) of a record without its `digest`.
///
/// # Errors
/// Where the document has no canonical form.
pub fn digest(document: &Value) -> serde_json::Result<String> {
    let mut document = document.clone();
    if let Some(fields) = document.as_object_mut() {
        fields.remove("digest");
    }
    let canonical = serde_json_canonicalizer::to_vec(&document)?;
    Ok(Sha256::digest(canonical).iter().map(|byte| format!("{byte:02x}")).collect())
}
