//! Rigs, simulated and coached.

mod coaching;
mod gauge;
mod profile;
mod pump;
mod simulated;
