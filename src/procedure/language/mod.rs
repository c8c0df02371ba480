//! The words of the procedure language, each a call of the walk or a native value.

mod amount;
mod asking;
mod circuits;
mod comparing;
mod fields;
mod host;
mod numbers;
mod page;
mod sort;
mod taken;
mod testing;
mod titles;
mod vocabulary;
mod word;

pub(super) use amount::Amount;
pub(super) use circuits::{TO_BE_FOUND, limits_fault, limits_twice, no_limits};
pub(super) use comparing::unlike;
pub(super) use fields::unknown_key;
pub(super) use host::{Host, engine_to_compile, engine_to_run};
#[cfg(test)]
pub use page::{definitions, word_list};
pub use sort::Sort;
pub(super) use titles::is_version;
pub use vocabulary::{GENERAL, PROPERTIES, VOCABULARY};
pub(super) use vocabulary::{keys_of, property_names, word_named};
pub use word::{Key, Property, Stands, Word};
