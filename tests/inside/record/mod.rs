//! Records, their fold and their audit.

mod audit;
mod examples;
mod fold;
mod schema;
mod takes;
