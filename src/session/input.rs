use std::io::{self, BufRead, Read, Write};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, sync_channel};
use std::thread;
use std::time::Duration;

use super::plain_terminal::PlainTerminal;
use super::terminal::Terminal;
use crate::console::is_plain;
use crate::page::{Board, LONGEST_LINE};

/// Where typed lines come from.
pub(crate) enum Input {
    /// Somebody at a terminal.
    Terminal(Box<Terminal>),
    /// Somebody at one whose cursor can't be moved.
    Plain(PlainTerminal),
    /// A pipe or a file of answers. A line that begins with `#` is a comment; everything else, empty lines
    /// included, is an answer.
    Lines(Box<dyn BufRead + Send>),
    /// The same, read by a thread, so that somebody else can answer meanwhile.
    Fed(Receiver<Result<String, String>>),
}

/// Why nothing more is typed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Stopped {
    /// Ctrl-C or Ctrl-D at a terminal, or the word for it.
    #[error("it was left")]
    Left,
    #[error("there are no more answers")]
    Ended,
    /// The terminal or file failed; says how.
    #[error("{0}")]
    Failed(String),
}

/// How long a line of a pipe is waited for before somebody else is looked at.
const PATIENCE: Duration = Duration::from_millis(50);

impl Input {
    /// Opens the terminal that somebody sits at.
    pub(super) fn terminal() -> Result<Input, Stopped> {
        if cfg!(unix) && is_plain() {
            return Ok(Input::Plain(PlainTerminal::default()));
        }
        Ok(Input::Terminal(Box::new(Terminal::open()?)))
    }

    pub(crate) fn lines(lines: impl BufRead + Send + 'static) -> Input {
        Input::Lines(Box::new(lines))
    }

    /// Lets the page answer too while a line is waited for.
    pub(super) fn beside(self, page: &Arc<Board>) -> Result<Input, Stopped> {
        match self {
            Input::Terminal(terminal) => Ok(Input::Terminal(Box::new(terminal.beside(page)?))),
            Input::Lines(mut lines) => {
                let (sender, fed) = sync_channel(1);
                thread::spawn(move || {
                    while let Some(line) = next_answer(&mut lines).transpose() {
                        let is_over = line.is_err();
                        if sender.send(line).is_err() || is_over {
                            break;
                        }
                    }
                });
                Ok(Input::Fed(fed))
            }
            Input::Plain(_) | Input::Fed(_) => Ok(self),
        }
    }

    pub(super) fn is_somebody(&self) -> bool {
        matches!(self, Input::Terminal(_) | Input::Plain(_))
    }

    /// Takes note that the page has answered.
    pub(super) fn is_late(&mut self) {
        match self {
            Input::Terminal(terminal) => terminal.is_late(),
            Input::Plain(terminal) => terminal.is_late(),
            Input::Lines(_) | Input::Fed(_) => {}
        }
    }

    /// Returns the next line; none where one of a thread has not come yet. With `afresh`, what was typed before the
    /// prompt is thrown away: a stray key must not answer a question that matters.
    pub(crate) fn line(&mut self, prompt: &str, afresh: bool) -> Result<Option<Typed>, Stopped> {
        // What was asked must be on the screen before a pipe is waited for.
        if !self.is_somebody() {
            let _ = io::stdout().flush();
        }
        let text = match self {
            Input::Terminal(terminal) => return terminal.line(prompt, afresh).map(Some),
            Input::Plain(terminal) => return terminal.line(),
            Input::Lines(lines) => next_answer(lines).map_err(failed)?.ok_or(Stopped::Ended)?,
            Input::Fed(lines) => match lines.recv_timeout(PATIENCE) {
                Ok(line) => line.map_err(failed)?,
                Err(RecvTimeoutError::Timeout) => return Ok(None),
                Err(RecvTimeoutError::Disconnected) => return Err(Stopped::Ended),
            },
        };
        Ok(Some(Typed { text, is_stale: false }))
    }
}

pub(super) fn failed(why: String) -> Stopped {
    Stopped::Failed(format!("nothing can be typed: {why}"))
}

fn next_answer(lines: &mut dyn BufRead) -> Result<Option<String>, String> {
    loop {
        let mut bytes = Vec::new();
        match lines.take(LONGEST_LINE as u64).read_until(b'\n', &mut bytes) {
            Ok(0) => return Ok(None),
            Err(error) => return Err(error.to_string()),
            // The rest of it must not answer the next questions.
            Ok(n) if n == LONGEST_LINE && !bytes.ends_with(b"\n") => {
                return Err(format!("a line is longer than {} KiB", LONGEST_LINE / 1024));
            }
            Ok(_) => {}
        }
        let text = String::from_utf8_lossy(&bytes);
        // Some editors put a byte-order mark before the first line.
        let text = text.trim_end_matches(['\n', '\r']).trim_start_matches('\u{feff}');
        if !text.starts_with('#') {
            return Ok(Some(text.to_owned()));
        }
    }
}

/// A line as it was typed.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Typed {
    pub text: String,
    /// Whether it was begun for what is asked no longer.
    pub is_stale: bool,
}
