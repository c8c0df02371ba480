use std::sync::LazyLock;

use serde_json::Value;

use crate::record::Schema;

/// The schema that every pack validates against.
pub const PACK_SCHEMA: &str = include_str!("../../schemas/pack.schema.json");
/// The schema that every index of packs validates against.
pub const INDEX_SCHEMA: &str = include_str!("../../schemas/index.schema.json");

static PACK: LazyLock<Schema> = LazyLock::new(|| Schema::new(PACK_SCHEMA));
static INDEX: LazyLock<Schema> = LazyLock::new(|| Schema::new(INDEX_SCHEMA));

/// Checks a document against the pack schema.
pub(super) fn check_pack(document: &Value) -> Result<(), Vec<String>> {
    PACK.check(document)
}

/// Checks a document against the index schema.
pub(super) fn check_index(document: &Value) -> Result<(), Vec<String>> {
    INDEX.check(document)
}
