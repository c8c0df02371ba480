use std::io::{self, BufRead};
use std::time::Duration;

use super::input::{Stopped, Typed, failed};
use super::keys::Ahead;
use crate::console::take_interrupt;

/// Somebody at a terminal whose cursor can't be moved (`TERM=dumb`): it has each line edited itself, and gives
/// it when it is entered.
#[derive(Default)]
pub(crate) struct PlainTerminal {
    /// Whether the prompt stands on the screen, and is waited at.
    is_asked: bool,
    ahead: Ahead,
}

impl PlainTerminal {
    /// Returns whether the prompt is to be shown now.
    pub(super) fn begins(&mut self, afresh: bool) -> bool {
        if std::mem::replace(&mut self.is_asked, true) {
            return false;
        }
        // What is taken off the line here can't be put back on it: the rest that comes is no whole line.
        self.ahead.begins(String::new(), afresh);
        true
    }

    /// Leaves the line; returns whether something stands on it.
    pub(super) fn leaves(&mut self) -> bool {
        self.ahead.goes_on = self.is_asked;
        std::mem::take(&mut self.is_asked)
    }

    pub(super) fn is_late(&mut self) {
        self.ahead.is_late = true;
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
                Ok(Some(self.ahead.entered(text)))
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
