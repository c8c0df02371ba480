use std::io::{self, BufRead};
use std::time::Duration;

use super::input::{Stopped, Typed, failed};
use super::keys::{forget_keys, keys_ahead, typed_on};
use crate::console::take_interrupt;

/// Somebody at a terminal whose cursor can't be moved (`TERM=dumb`): it has each line edited itself, and gives
/// it when it is entered.
#[derive(Default)]
pub(crate) struct PlainTerminal {
    /// Whether the prompt stands on the screen, and is waited at.
    is_asked: bool,
    /// Whether the page has answered since.
    is_late: bool,
    /// Whether the prompt was left for something else than an answer: what was typed since is for the same question.
    goes_on: bool,
    /// Whether the line was begun for what is asked no longer.
    is_stale: bool,
}

impl PlainTerminal {
    /// Returns whether the prompt is to be shown now.
    pub(super) fn begins(&mut self, afresh: bool) -> bool {
        if std::mem::replace(&mut self.is_asked, true) {
            return false;
        }
        let goes_on = std::mem::take(&mut self.goes_on);
        if std::mem::take(&mut self.is_late) {
            // What is taken off the line here can't be put back on it: the rest that comes is no whole line.
            self.is_stale |= !typed_on(String::new(), &keys_ahead()).is_empty();
        } else if afresh && !goes_on {
            forget_keys();
        }
        true
    }

    /// Leaves the line; returns whether something stands on it.
    pub(super) fn leaves(&mut self) -> bool {
        self.goes_on = self.is_asked;
        std::mem::take(&mut self.is_asked)
    }

    pub(super) fn is_late(&mut self) {
        self.is_late = true;
    }

    /// Returns the line that was entered; none where none was in a while.
    pub(super) fn line(&mut self) -> Result<Option<Typed>, Stopped> {
        const PATIENCE: Duration = Duration::from_millis(50);
        let unusable = |error: io::Error| failed(error.to_string());
        if !has_come(PATIENCE).map_err(unusable)? {
            return if take_interrupt() { Err(Stopped::Left) } else { Ok(None) };
        }
        let mut bytes = Vec::new();
        self.is_asked = false;
        match io::stdin().lock().read_until(b'\n', &mut bytes).map_err(unusable)? {
            0 => Err(Stopped::Left),
            _ => {
                let text = String::from_utf8_lossy(&bytes).trim_end_matches(['\n', '\r']).to_owned();
                Ok(Some(Typed { text, is_stale: std::mem::take(&mut self.is_stale) }))
            }
        }
    }
}

/// Waits for something to be read at standard input, so long at most.
#[cfg(unix)]
fn has_come(within: Duration) -> io::Result<bool> {
    use std::os::fd::AsFd;

    use nix::errno::Errno;
    use nix::poll::{PollFd, PollFlags, PollTimeout, poll};
    let stdin = io::stdin();
    let within = PollTimeout::try_from(within).map_err(io::Error::other)?;
    match poll(&mut [PollFd::new(stdin.as_fd(), PollFlags::POLLIN)], within) {
        // A signal, as that of Ctrl-C.
        Err(Errno::EINTR) => Ok(false),
        n => Ok(n? > 0),
    }
}

#[cfg(not(unix))]
fn has_come(_: Duration) -> io::Result<bool> {
    Ok(true)
}
