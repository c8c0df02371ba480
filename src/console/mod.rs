//! The console: cleaning and wrapping text, and the one place that writes to standard output and standard error.

mod clean;
mod progress;
mod screen;

pub use clean::{clean, hidden};
pub use progress::{Progress, is_interrupted, mark_interrupts, take_interrupt};
pub use screen::{Screen, is_interactive};
