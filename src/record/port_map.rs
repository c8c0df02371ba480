//! Pictures of a procedure as a record names them, and where ports lie on them.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// A picture by its content. The record holds no more of it; the shop keeps the picture under its digest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct PictureDigest {
    /// Its file's name, relative to the procedure's folder.
    pub name: String,
    /// SHA-256 of its bytes, in hexadecimal.
    pub sha256: String,
    /// Its width in pixels.
    pub width: u32,
    /// Its height in pixels.
    pub height: u32,
}

/// A picture, and where on it ports lie.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct PortMap {
    /// The name of the picture's file.
    pub picture: String,
    /// The ports by their names.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub ports: BTreeMap<String, Pixel>,
}

/// A place on a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Pixel {
    /// Pixels from its left edge.
    pub x: u32,
    /// Pixels from its upper edge.
    pub y: u32,
}
