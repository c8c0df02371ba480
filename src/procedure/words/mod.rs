//! The words of the procedure language, each a call of the walk or a native value.

mod amount;
mod asking;
mod circuits;
mod comparing;
mod host;
mod numbers;
mod taken;
mod testing;
mod titles;
mod vocabulary;

pub(super) use amount::Amount;
pub(super) use host::{Host, Mistake, engine_to_compile, engine_to_run, mistake};
pub use vocabulary::{GENERAL, VOCABULARY, Word};
pub(super) use vocabulary::{is_word, keys_of, property_names};
