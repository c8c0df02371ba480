use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// A procedure's version: three whole numbers, the first of which weighs most.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub(crate) struct Version([u32; 3]);

/// A text is not a version.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("a version is three numbers without leading zeros, as in 1.0.0")]
pub(crate) struct NoVersion;

impl fmt::Display for Version {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [major, minor, patch] = self.0;
        write!(f, "{major}.{minor}.{patch}")
    }
}

impl TryFrom<String> for Version {
    type Error = NoVersion;

    fn try_from(text: String) -> Result<Version, NoVersion> {
        text.parse()
    }
}

impl From<Version> for String {
    fn from(version: Version) -> String {
        version.to_string()
    }
}

impl FromStr for Version {
    type Err = NoVersion;

    /// Reads a version in its only spelling: `1.02.0` and `+1.0.0` would be second names for another.
    fn from_str(text: &str) -> Result<Version, NoVersion> {
        let numbers: Vec<u32> =
            text.split('.').map(|part| part.parse().map_err(|_| NoVersion)).collect::<Result<_, _>>()?;
        let version = Version(numbers.try_into().map_err(|_| NoVersion)?);
        if version.to_string() == text { Ok(version) } else { Err(NoVersion) }
    }
}

#[cfg(test)]
mod tests {
    use super::{NoVersion, Version};

    #[test]
    fn versions_compare_by_number_and_not_by_letter() {
        let version = |text: &str| text.parse::<Version>();
        let later = |one, other| version(one).unwrap() > version(other).unwrap();
        assert!(later("1.10.0", "1.9.9") && later("2.0.0", "1.99.99"));
        for text in [
            "",
            "1",
            "1.0",
            "1.0.0.0",
            "1.0.x",
            "01.0.0",
            "1.00.0",
            "+1.0.0",
            "-1.0.0",
            "1.0.0 ",
            "9999999999.0.0",
        ] {
            assert_eq!(version(text), Err(NoVersion), "{text}");
        }
    }
}
