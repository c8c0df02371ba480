//! The words of the procedure language, each a call of the walk or a native value.

mod compare;
mod description;
mod judging;
mod making;
mod meant;
mod values;
mod vocabulary;
mod words;

pub(crate) use compare::{is_comparison, unlike};
pub(crate) use description::{Description, Given, KnownValue};
pub(crate) use meant::with_units;
pub(crate) use values::{VERDICTS_ASKED, no_ratio, no_sum};
#[cfg(test)]
pub(crate) use vocabulary::Key;
pub(crate) use vocabulary::{PROPERTIES, Property, Sort, Stands, VOCABULARY, Word};
pub(crate) use vocabulary::{is_general, property_names, word_named};
pub(crate) use words::{CircuitWord, Host, WrittenOut, engine_to_compile, engine_to_run};
