use serde::Serialize;
use sha2::{Digest, Sha256};

use super::Record;
use super::canonical::canonical;

/// Returns SHA-256, in hexadecimal, over the canonical form (RFC 8785) of a record without its `digest`.
///
/// # Errors
/// Where the document has no canonical form.
pub fn digest(document: &impl Serialize) -> serde_json::Result<String> {
    let text = canonical(document, "digest")?;
    Ok(Sha256::digest(text).iter().map(|byte| format!("{byte:02x}")).collect())
}

impl Record {
    /// Returns whether its digest is that of what is in it: nothing was changed since it was stored, or whoever changed it
    /// made a new digest, which an audit finds.
    pub fn is_as_stored(&self) -> bool {
        digest(self).is_ok_and(|found| self.digest.as_ref() == Some(&found))
    }
}
