use std::io::{self, BufRead, Read, Write};

use rustyline::error::ReadlineError;
use rustyline::{Config, DefaultEditor};

/// The longest line that is read as one, in bytes.
const LONGEST_LINE: u64 = 16 * 1024;

/// Where typed lines come from.
pub enum Input {
    /// Somebody at a terminal.
    Terminal(Box<DefaultEditor>),
    /// A pipe or a file of answers. A line that begins with `#` is a comment; everything else, empty lines included, is an
    /// answer.
    Lines(Box<dyn BufRead>),
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

impl Input {
    /// Opens the terminal for line editing, without a history: answers and names are nobody else's.
    pub fn terminal() -> Result<Input, Stopped> {
        let editor = DefaultEditor::with_config(Config::builder().auto_add_history(false).build());
        let editor =
            editor.map_err(|error| Stopped::Failed(format!("the terminal can't be used: {error}")))?;
        Ok(Input::Terminal(Box::new(editor)))
    }

    pub fn lines(lines: impl BufRead + 'static) -> Input {
        Input::Lines(Box::new(lines))
    }

    /// Returns the next line. With `afresh`, what was typed before the prompt is thrown away: a stray key must not answer
    /// a question that matters.
    pub fn line(&mut self, prompt: &str, afresh: bool) -> Result<String, Stopped> {
        let failed = |why: String| Stopped::Failed(format!("nothing can be typed: {why}"));
        match self {
            Input::Terminal(editor) => {
                if afresh {
                    forget_typed();
                }
                editor.readline(prompt).map_err(|error| match error {
                    ReadlineError::Interrupted | ReadlineError::Eof => Stopped::Left,
                    error => failed(error.to_string()),
                })
            }
            Input::Lines(lines) => {
                // What was asked must be on the screen before a pipe is waited for.
                let _ = io::stdout().flush();
                next_answer(lines).map_err(failed)?.ok_or(Stopped::Ended)
            }
        }
    }
}

fn next_answer(lines: &mut dyn BufRead) -> Result<Option<String>, String> {
    loop {
        let mut bytes = Vec::new();
        match lines.take(LONGEST_LINE).read_until(b'\n', &mut bytes) {
            Ok(0) => return Ok(None),
            Err(error) => return Err(error.to_string()),
            // The rest of it must not answer the next questions.
            Ok(n) if n as u64 == LONGEST_LINE && !bytes.ends_with(b"\n") => {
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

#[cfg(unix)]
fn forget_typed() {
    use rustix::termios::{QueueSelector, tcflush};
    // Where the queue can't be emptied, a stray key is read as an answer would be, and refused like one.
    let _ = tcflush(rustix::stdio::stdin(), QueueSelector::IFlush);
}

#[cfg(not(unix))]
fn forget_typed() {}
