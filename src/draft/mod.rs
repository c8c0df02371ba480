//! A new procedure from a few plain answers: what was answered, and the commented text that comes of it.

mod circuit;
mod cleaned;
mod earlier;
mod feature;
mod file_name;
mod left_out;
mod new_procedure;
mod ported;
mod provenance;
mod step;
mod taker;
mod writer;
mod written;

pub use circuit::{Body, DraftCircuit, DraftLimits};
pub use cleaned::{cleaned, listed, unquoted};
pub use earlier::Earlier;
pub use feature::Feature;
pub use file_name::file_name;
pub use left_out::LeftOut;
pub use new_procedure::{Draft, Origin};
pub use ported::{names_bare, with_port};
pub use provenance::provenance;
pub use step::Step;
