use serde::Serialize;
use serde_json::Value;

/// Returns the bytes that a signature is over: the canonical form (RFC 8785) of a document without its `signature`.
///
/// # Errors
/// Where the document has no canonical form.
pub fn signed_bytes(document: &impl Serialize) -> serde_json::Result<Vec<u8>> {
    let mut document = serde_json::to_value(document)?;
    if let Value::Object(fields) = &mut document {
        fields.remove("signature");
    }
    serde_json_canonicalizer::to_vec(&document)
}
