//! The console: cleaning and wrapping text, and the one place that writes to standard output and standard error.

mod clean;
mod interrupt;
mod progress;
mod screen;

pub use clean::{clean, hidden};
pub use interrupt::{is_interrupted, mark_interrupts, take_interrupt};
pub use progress::Progress;
pub use screen::{Screen, is_interactive};
