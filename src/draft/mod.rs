//! A new procedure from a few plain answers, or a copy of one: what was answered, and the commented
//! text that comes of it.

mod copy;
mod declared;
mod feature;
mod model;
mod ports;
mod steps;
mod typed;
mod writer;

pub(crate) use copy::Original;
pub(crate) use feature::{Feature, FeatureSteps};
pub(crate) use model::{Draft, DraftCircuit, DraftItem, DraftLimits, SecondLand, Tested};
pub(crate) use ports::{with_picture, with_ports};
pub(crate) use typed::{HEADING, NOT_KNOWN, heading, hours_of, list, long, price, reading_list, short};
pub(crate) use typed::{cleaned, file_name};
pub(crate) use writer::provenance;
