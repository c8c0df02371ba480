//! Rigs, simulated and coached.

mod coaching;
mod dials;
mod gauge;
mod laws;
mod profile;
mod pump;
mod simulated;
