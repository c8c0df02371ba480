use std::sync::atomic::{AtomicBool, Ordering};

static INTERRUPTED: AtomicBool = AtomicBool::new(false);

/// From now on Ctrl-C only leaves a mark, so that what is under way can be left in good order. At the prompt the
/// terminal is raw and Ctrl-C is a key; this is for everything else.
///
/// # Errors
/// Where a handler is set already.
pub fn mark_interrupts() -> Result<(), ctrlc::Error> {
    ctrlc::set_handler(|| INTERRUPTED.store(true, Ordering::Relaxed))
}

/// Returns whether Ctrl-C was pressed, and forgets that it was.
pub fn take_interrupt() -> bool {
    INTERRUPTED.swap(false, Ordering::Relaxed)
}

/// Returns whether Ctrl-C was pressed.
pub fn is_interrupted() -> bool {
    INTERRUPTED.load(Ordering::Relaxed)
}
