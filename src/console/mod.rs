//! The console: cleaning and wrapping text, and the one place that writes to standard output and standard error.

mod clean;
mod screen;

pub use clean::clean;
pub use screen::{Screen, is_interactive};
