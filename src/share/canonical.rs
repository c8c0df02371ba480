use serde::Serialize;

use crate::record::canonical;

/// Returns the bytes that a signature is over: the canonical form (RFC 8785) of a document without its `signature`.
///
/// # Errors
/// Where the document has no canonical form.
pub fn signed_bytes(document: &impl Serialize) -> serde_json::Result<Vec<u8>> {
    canonical(&serde_json::to_value(document)?, "signature")
}
