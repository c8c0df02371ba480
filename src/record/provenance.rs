use std::fmt;

use serde::{Deserialize, Serialize};

/// Where a procedure came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    /// It is built into the program.
    Shipped,
    /// It was received as a pack and is installed in the shop.
    Shop,
    /// It was given by the path of its file.
    File,
}

/// Who signed a procedure.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Signer {
    /// The name that the signer goes by.
    pub name: String,
    /// Six groups of five digits, made of the signer's public key.
    pub fingerprint: String,
}

impl fmt::Display for Signer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({})", self.name, self.fingerprint)
    }
}

/// Says in words where a procedure came from and who signed it.
pub fn provenance(origin: Origin, signer: Option<&Signer>) -> String {
    match (origin, signer) {
        (_, Some(signer)) => format!("signed by {signer}"),
        (Origin::Shipped, None) => "shipped with the program".to_owned(),
        (Origin::Shop, None) => "from the shop's procedures, unsigned".to_owned(),
        (Origin::File, None) => "from a file, unsigned".to_owned(),
    }
}
