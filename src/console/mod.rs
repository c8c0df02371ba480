//! The console: cleaning and wrapping text, and the one place that writes to standard output and standard error.

mod clean;
mod interrupt;
mod screen;

pub use clean::clean;
pub use interrupt::{is_interrupted, mark_interrupts};
pub use screen::{Screen, is_interactive};
