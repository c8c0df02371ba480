use std::io::{self, BufRead, Read, Write};
use std::time::{Duration, Instant};

use rustyline::error::ReadlineError;
use rustyline::{Config, DefaultEditor};

use crate::console::is_interrupted;

/// The longest line that is read as one, in bytes.
const LONGEST_LINE: u64 = 16 * 1024;

/// Where typed lines come from.
pub trait Input {
    /// Returns the next line, or why there is none. With `afresh`, what was typed before the prompt is thrown away: a
    /// stray key must not answer a question that matters.
    fn line(&mut self, prompt: &str, afresh: bool) -> Typed;

    /// Lets a span of time pass, in seconds, where somebody waits at a terminal; `tick` shows how much is left.
    /// Returns nothing where a line is to end the wait instead.
    fn wait(&mut self, _seconds: f64, _tick: &mut dyn FnMut(f64)) -> Option<Typed> {
        None
    }
}

/// What came of waiting for a line.
#[derive(Debug)]
pub enum Typed {
    /// A line, and whether the prompt and the line stand on the screen already.
    Line {
        /// The text, without its line feed.
        text: String,
        /// Whether it was typed at a terminal, which shows it.
        is_shown: bool,
    },
    /// Ctrl-C or Ctrl-D at a terminal.
    Left,
    /// There are no more lines.
    Ended,
    /// The terminal or file failed.
    Failed(String),
}

/// Somebody at a terminal.
pub struct Terminal(DefaultEditor);

impl Terminal {
    /// Opens the terminal for line editing, without a history: answers and names are nobody else's.
    ///
    /// # Errors
    /// Where there is no usable terminal.
    pub fn open() -> Result<Terminal, ReadlineError> {
        Ok(Terminal(DefaultEditor::with_config(Config::builder().auto_add_history(false).build())?))
    }
}

impl Input for Terminal {
    fn line(&mut self, prompt: &str, afresh: bool) -> Typed {
        if afresh {
            forget_typed();
        }
        match self.0.readline(prompt) {
            Ok(text) => Typed::Line { text, is_shown: true },
            Err(ReadlineError::Interrupted | ReadlineError::Eof) => Typed::Left,
            Err(error) => Typed::Failed(error.to_string()),
        }
    }

    fn wait(&mut self, seconds: f64, tick: &mut dyn FnMut(f64)) -> Option<Typed> {
        let begun = Instant::now();
        loop {
            let left = seconds - begun.elapsed().as_secs_f64();
            if is_interrupted() {
                return Some(Typed::Left);
            }
            if left <= 0.0 {
                return Some(Typed::Line { text: String::new(), is_shown: true });
            }
            tick(left);
            std::thread::sleep(Duration::from_millis(50));
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

/// Lines of a pipe or of a file of answers.
///
/// A line that begins with `#` is a comment; everything else, empty lines included, is an answer.
pub struct Lines<R>(R);

impl<R: BufRead> Lines<R> {
    /// Takes the lines of a reader.
    pub fn new(lines: R) -> Lines<R> {
        Lines(lines)
    }
}

impl<R: BufRead> Input for Lines<R> {
    fn line(&mut self, _: &str, _: bool) -> Typed {
        // What was asked must be on the screen before a pipe is waited for.
        let _ = io::stdout().flush();
        loop {
            let mut bytes = Vec::new();
            match (&mut self.0).take(LONGEST_LINE).read_until(b'\n', &mut bytes) {
                Ok(0) => return Typed::Ended,
                Err(error) => return Typed::Failed(error.to_string()),
                // The rest of it must not answer the next questions.
                Ok(n) if n as u64 == LONGEST_LINE && !bytes.ends_with(b"\n") => {
                    return Typed::Failed(format!("a line is longer than {} KiB", LONGEST_LINE / 1024));
                }
                Ok(_) => {}
            }
            let text = String::from_utf8_lossy(&bytes);
            // Some editors put a byte-order mark before the first line.
            let text = text.trim_end_matches(['\n', '\r']).trim_start_matches('\u{feff}').to_owned();
            if !text.starts_with('#') {
                return Typed::Line { text, is_shown: false };
            }
        }
    }
}

/// A file of answers first, then whatever follows it.
pub struct Chain<A, B> {
    first: A,
    then: B,
    is_first_over: bool,
}

impl<A: Input, B: Input> Chain<A, B> {
    /// Takes lines from the first until it has no more.
    pub fn new(first: A, then: B) -> Chain<A, B> {
        Chain { first, then, is_first_over: false }
    }
}

impl<A: Input, B: Input> Input for Chain<A, B> {
    fn line(&mut self, prompt: &str, afresh: bool) -> Typed {
        if !self.is_first_over {
            match self.first.line(prompt, afresh) {
                Typed::Ended => self.is_first_over = true,
                typed => return typed,
            }
        }
        self.then.line(prompt, afresh)
    }

    fn wait(&mut self, seconds: f64, tick: &mut dyn FnMut(f64)) -> Option<Typed> {
        if self.is_first_over { self.then.wait(seconds, tick) } else { self.first.wait(seconds, tick) }
    }
}
