use std::io;

use serde::{Deserialize, Serialize};

use super::Shop;
use crate::disk::{LARGEST_SETTINGS, read_text, write_whole};

/// What a report says of the shop that made it, and the server that it sends its records to.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ShopAddress {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) name: Option<String>,
    /// Street and place, with commas between them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) address: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) phone: Option<String>,
    /// Where the server is that benches share; there is no password in it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) database: Option<String>,
}

impl ShopAddress {
    /// Reads the shop's; an empty one where it has set none.
    pub(crate) fn of(shop: &Shop) -> io::Result<ShopAddress> {
        match read_text(&shop.address(), LARGEST_SETTINGS) {
            Ok(text) => Ok(serde_json::from_str(&text)?),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(ShopAddress::default()),
            Err(error) => Err(error),
        }
    }

    pub(crate) fn write(&self, shop: &Shop) -> io::Result<()> {
        write_whole(&shop.address(), format!("{}\n", serde_json::to_string_pretty(self)?).as_bytes())
    }

    /// Returns what heads a report, in the order in which it is written.
    pub(crate) fn lines(&self) -> impl Iterator<Item = &str> {
        [&self.name, &self.address, &self.phone].into_iter().flatten().map(String::as_str)
    }
}
