//! The console: cleaning and wrapping text, and the one place that writes to standard output and standard error.

mod clean;
mod lookalike;
mod progress;
mod screen;

pub(crate) use clean::{clean, hidden};
pub(crate) use lookalike::looks;
pub(crate) use progress::{Progress, is_interrupted, leave_stops, mark_interrupts, take_interrupt};
pub(crate) use screen::{Heard, Listener, Screen, end_of_output, is_interactive, is_plain, unwritten};
