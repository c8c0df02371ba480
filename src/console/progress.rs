use std::io::{self, IsTerminal};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use super::Screen;

/// How far a piece of work is, drawn on standard error once it has taken a second; nothing where that is no terminal.
pub(crate) struct Progress {
    what: &'static str,
    n_all: usize,
    n_done: AtomicUsize,
    began: Instant,
    drawn: Option<Mutex<Instant>>,
}

/// Work that ends sooner shows no bar.
const PATIENCE: Duration = Duration::from_secs(1);

/// The bar is drawn again no sooner than this.
const PAUSE: Duration = Duration::from_millis(100);

const CELLS: usize = 30;

impl Progress {
    /// Begins a piece of work of that many steps; `what` names a step in the plural, as in `records audited`.
    pub(crate) fn new(what: &'static str, n_all: usize) -> Progress {
        let now = Instant::now();
        let drawn = io::stderr().is_terminal().then(|| Mutex::new(now));
        Progress { what, n_all, n_done: AtomicUsize::new(0), began: now, drawn }
    }

    /// Counts a step that is done; any thread may.
    pub(crate) fn step(&self) {
        let n_done = self.n_done.fetch_add(1, Ordering::Relaxed) + 1;
        let Some(drawn) = &self.drawn else { return };
        if self.began.elapsed() < PATIENCE {
            return;
        }
        // Whoever finds another thread drawing goes on with its work.
        let Ok(mut drawn) = drawn.try_lock() else { return };
        if drawn.elapsed() >= PAUSE {
            *drawn = Instant::now();
            let full = (CELLS * n_done / self.n_all.max(1)).min(CELLS);
            let bar = format!("{}{}", "#".repeat(full), ".".repeat(CELLS - full));
            Screen::stderr().replace_line(&format!("[{bar}] {n_done} of {} {}", self.n_all, self.what));
        }
    }
}

impl Drop for Progress {
    /// Wipes the bar, so that the result stands alone.
    fn drop(&mut self) {
        if self.drawn.is_some() && self.began.elapsed() >= PATIENCE {
            Screen::stderr().replace_line("");
        }
    }
}

static INTERRUPTED: AtomicBool = AtomicBool::new(false);

/// From now on Ctrl-C only leaves a mark, so that what is under way can be left in good order. At the prompt the
/// terminal is raw and Ctrl-C is a key; this is for everything else.
///
/// # Errors
/// Where a handler is set already.
pub(crate) fn mark_interrupts() -> Result<(), ctrlc::Error> {
    // Its thread is like the one that makes it.
    leave_stops();
    let marking = ctrlc::set_handler(|| INTERRUPTED.store(true, Ordering::Relaxed));
    take_stops();
    marking
}

/// Leaves it to the thread that asks to stop the program at Ctrl-Z; each thread beside that one does. Where another
/// stops it, the line editor goes on for a moment, takes the terminal anew and has lost it when the program goes on.
#[cfg(unix)]
pub(crate) fn leave_stops() {
    let _ = stops().thread_block();
}

#[cfg(unix)]
fn take_stops() {
    let _ = stops().thread_unblock();
}

#[cfg(unix)]
fn stops() -> nix::sys::signal::SigSet {
    nix::sys::signal::SigSet::from(nix::sys::signal::Signal::SIGTSTP)
}

#[cfg(not(unix))]
pub(crate) fn leave_stops() {}

#[cfg(not(unix))]
fn take_stops() {}

/// Returns whether Ctrl-C was pressed, and forgets that it was.
pub(crate) fn take_interrupt() -> bool {
    INTERRUPTED.swap(false, Ordering::Relaxed)
}

pub(crate) fn is_interrupted() -> bool {
    INTERRUPTED.load(Ordering::Relaxed)
}
