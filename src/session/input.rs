use std::io::{self, BufRead, Read, Write};

use rustyline::error::ReadlineError;
use rustyline::{Config, DefaultEditor};

/// The longest line that is read as one, in bytes.
const LONGEST_LINE: u64 = 16 * 1024;

/// Where typed lines come from.
pub trait Input {
    /// Returns the next line, or why there is none.
    fn line(&mut self, prompt: &str) -> Typed;
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
    fn line(&mut self, prompt: &str) -> Typed {
        match self.0.readline(prompt) {
            Ok(text) => Typed::Line { text, is_shown: true },
            Err(ReadlineError::Interrupted | ReadlineError::Eof) => Typed::Left,
            Err(error) => Typed::Failed(error.to_string()),
        }
    }
}

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
    fn line(&mut self, _: &str) -> Typed {
        // What was asked must be on the screen before a pipe is waited for.
        let _ = io::stdout().flush();
        loop {
            let mut bytes = Vec::new();
            match (&mut self.0).take(LONGEST_LINE).read_until(b'\n', &mut bytes) {
                Ok(0) => return Typed::Ended,
                Err(error) => return Typed::Failed(error.to_string()),
                Ok(_) => {}
            }
            let text = String::from_utf8_lossy(&bytes).trim_end_matches(['\n', '\r']).to_owned();
            if !text.starts_with('#') {
                return Typed::Line { text, is_shown: false };
            }
        }
    }
}

/// A file of answers first, then whatever follows it.
pub struct Chain<A, B>(pub A, pub Option<B>);

impl<A: Input, B: Input> Input for Chain<A, B> {
    fn line(&mut self, prompt: &str) -> Typed {
        match (self.0.line(prompt), &mut self.1) {
            (Typed::Ended, Some(next)) => next.line(prompt),
            (typed, _) => typed,
        }
    }
}
