use std::fmt::Display;
use std::path::Path;
use std::process::ExitCode;

use crate::console::Screen;
use crate::session::Stopped;

/// What the program's exit status says; where two apply, the graver wins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Status {
    /// 0: done.
    Done,
    /// 1: the thing asked about is not in order: a record altered, a procedure with errors.
    NotInOrder,
    /// 2: wrong usage or unreadable input.
    Wrong,
    /// 3: paused, to be resumed.
    Paused,
}

impl From<Status> for ExitCode {
    fn from(status: Status) -> ExitCode {
        ExitCode::from(status as u8)
    }
}

/// Why a command did not do its work, with the exit status that says so.
#[derive(Debug)]
pub(super) struct Failure {
    status: Status,
    pub(super) text: String,
}

impl Failure {
    /// Wrong usage or unreadable input.
    pub(super) fn wrong(text: impl Display) -> Failure {
        Failure { status: Status::Wrong, text: text.to_string() }
    }

    /// A file that the disk refuses.
    pub(super) fn file(path: &Path, error: impl Display) -> Failure {
        Failure::wrong(format!("{}: {error}", path.display()))
    }

    /// The thing asked about is not in order.
    pub(super) fn not_in_order(text: impl Display) -> Failure {
        Failure { status: Status::NotInOrder, text: text.to_string() }
    }

    /// Adds a sentence that helps where usage or input is wrong.
    pub(super) fn or(self, help: &str) -> Failure {
        match self.status {
            Status::Wrong => Failure::wrong(format!("{}. {help}", self.text.trim_end_matches('.'))),
            _ => self,
        }
    }

    /// Interrupted, with everything kept.
    pub(super) fn paused(text: impl Display) -> Failure {
        Failure { status: Status::Paused, text: text.to_string() }
    }

    /// The questions were left before the end, with what that came to; or nothing could be typed.
    pub(super) fn stopped(why: Stopped, so: &str) -> Failure {
        match why {
            Stopped::Left | Stopped::Ended => Failure::paused(so),
            Stopped::Failed(why) => Failure::wrong(why),
        }
    }

    /// Prints the text on standard error and returns the status.
    pub(super) fn report(self) -> Status {
        Screen::stderr().message(&self.text);
        self.status
    }
}

pub(super) type Outcome = Result<Status, Failure>;
