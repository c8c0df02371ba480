//! A new procedure from a few plain answers: what was answered, and the commented text that comes of it.

mod circuit;
mod cleaned;
mod earlier;
mod feature;
mod file_name;
mod new_procedure;
mod step;
mod writer;

pub use circuit::{Body, DraftCircuit, DraftLimits};
pub use cleaned::{cleaned, listed};
pub use earlier::earlier;
pub use feature::Feature;
pub use file_name::file_name;
pub use new_procedure::Draft;
pub use step::Step;
