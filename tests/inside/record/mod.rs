//! Records: as a contract, their audit, and forgeries.

mod audit;
mod contract;
mod differing;
mod examples;
mod forged;
mod jobs;
mod money;
mod names;
mod rounds;
mod sayings;
mod schema;
mod takes;
