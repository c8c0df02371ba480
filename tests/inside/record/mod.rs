//! Records, their fold and their audit.

mod audit;
mod examples;
mod fold;
mod forged;
mod schema;
mod takes;
