use serde::{Serialize, Serializer};
use serde_json::Value;
use sha2::{Digest, Sha256};

/// Returns SHA-256, in hexadecimal, over the canonical form (RFC 8785) of a record without its `digest`.
///
/// # Errors
/// Where the document has no canonical form.
pub fn digest(document: &Value) -> serde_json::Result<String> {
    let canonical = serde_json_canonicalizer::to_vec(&WithoutDigest(document))?;
    Ok(Sha256::digest(canonical).iter().map(|byte| format!("{byte:02x}")).collect())
}

struct WithoutDigest<'a>(&'a Value);

impl Serialize for WithoutDigest<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self.0 {
            Value::Object(fields) => {
                serializer.collect_map(fields.iter().filter(|(key, _)| *key != "digest"))
            }
            other => other.serialize(serializer),
        }
    }
}
