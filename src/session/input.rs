use std::io::{self, BufRead, Read, Write};
use std::sync::mpsc::{Receiver, RecvTimeoutError, sync_channel};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::Duration;

use rustyline::completion::Completer;
use rustyline::config::Configurer;
use rustyline::error::ReadlineError;
use rustyline::highlight::Highlighter;
use rustyline::hint::Hinter;
use rustyline::history::DefaultHistory;
use rustyline::validate::{ValidationContext, ValidationResult, Validator};
use rustyline::{Config, Context, Editor, ExternalPrinter, Helper};

use crate::page::{Board, LONGEST_LINE};

/// Where typed lines come from.
pub(crate) enum Input {
    /// Somebody at a terminal.
    Terminal(Box<Terminal>),
    /// A pipe or a file of answers. A line that begins with `#` is a comment; everything else, empty lines included, is an
    /// answer.
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
            Input::Fed(_) => Ok(self),
        }
    }

    /// Returns the next line; none where one of a thread has not come yet. With `afresh`, what was typed before the prompt is
    /// thrown away: a stray key must not answer a question that matters.
    pub(crate) fn line(&mut self, prompt: &str, afresh: bool) -> Result<Option<Typed>, Stopped> {
        // What was asked must be on the screen before a pipe is waited for.
        if !matches!(self, Input::Terminal(_)) {
            let _ = io::stdout().flush();
        }
        let text = match self {
            Input::Terminal(terminal) => return terminal.line(prompt, afresh).map(Some),
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

fn failed(why: String) -> Stopped {
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

/// The line editor of a terminal. Where a page can answer as well, it is called back from a line that is being typed.
pub(crate) struct Terminal {
    editor: Editor<Typist, DefaultHistory>,
    /// While there is one, the editor waits for more than keys, and sees at once that it is called back.
    _printer: Option<Box<dyn ExternalPrinter + Send>>,
    /// What stands on the line, to be typed on.
    begun: String,
    unread: Unread,
}

/// A line as it was typed.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Typed {
    pub text: String,
    /// Whether it was begun for what is asked no longer.
    pub is_stale: bool,
}

impl Terminal {
    /// Opens the terminal for line editing, without a history: answers and names are nobody else's.
    pub(crate) fn open() -> Result<Terminal, Stopped> {
        let editor = Editor::with_config(Config::builder().auto_add_history(false).build());
        let editor = editor.map_err(|error| unusable(&error))?;
        Ok(Terminal { editor, _printer: None, begun: String::new(), unread: Unread::Nothing })
    }

    fn beside(mut self, page: &Arc<Board>) -> Result<Terminal, Stopped> {
        /// A lone escape is a key when so many ms have passed: else the editor waits for what it begins, and for nothing else.
        const ESCAPE_MS: u16 = 500;
        if cfg!(not(unix)) {
            return Err(failed("a terminal is called back for a page on Unix only".to_owned()));
        }
        self.editor.set_keyseq_timeout(Some(ESCAPE_MS));
        self.editor.set_helper(Some(Typist { page: Arc::clone(page), typed: Mutex::default() }));
        let printer = self.editor.create_external_printer().map_err(|_| {
            failed(
                "this terminal can't be called back for a page; run it in another, or with lines of a file"
                    .to_owned(),
            )
        })?;
        Ok(Terminal { _printer: Some(Box::new(printer)), ..self })
    }

    fn line(&mut self, prompt: &str, afresh: bool) -> Result<Typed, Stopped> {
        // What was typed for something else is looked at when the editor has the terminal: it tells a line from half of one.
        if afresh && self.begun.is_empty() && self.unread == Unread::Nothing {
            forget_typed();
        }
        let begun = std::mem::take(&mut self.begun);
        if let Some(typing) = self.editor.helper() {
            typing.begin(&begun, self.unread);
        }
        let read = self.editor.readline_with_initial(prompt, (&begun, ""));
        if let Some(typing) = self.editor.helper() {
            typing.page.not_reading();
            let mut typed = typing.typed();
            self.unread = typed.unread;
            if read.is_ok() {
                typed.line.clear();
            }
        }
        let text = read.map_err(|error| match error {
            ReadlineError::Interrupted | ReadlineError::Eof => Stopped::Left,
            error => failed(error.to_string()),
        })?;
        let unread = std::mem::take(&mut self.unread);
        Ok(Typed { text, is_stale: unread == Unread::Line })
    }

    /// Takes note that the page has answered: what is half typed, or on its way, was typed for what is asked no longer.
    pub(super) fn is_late(&mut self) {
        let begun = self.left();
        if self.unread != Unread::Line {
            self.unread = if begun.is_empty() { Unread::Keys } else { Unread::Line };
        }
    }

    /// Has the next line begin with what stood on this one when it was left.
    pub(super) fn type_on(&mut self) {
        self.begun = self.left();
    }

    /// Returns what stood on the line when it was left.
    fn left(&self) -> String {
        self.editor.helper().map(|typing| std::mem::take(&mut typing.typed().line)).unwrap_or_default()
    }
}

fn unusable(error: &ReadlineError) -> Stopped {
    Stopped::Failed(format!("the terminal can't be used: {error}"))
}

/// Who sits at the editor while a page is open: keeps what is typed, and says when the editor can be called back, which is as
/// long as the signal for that is the editor's own to take.
struct Typist {
    page: Arc<Board>,
    typed: Mutex<OnLine>,
}

/// What is known of the line that is typed.
#[derive(Default)]
struct OnLine {
    line: String,
    unread: Unread,
    /// Whether the editor has begun to read.
    is_begun: bool,
}

/// What may still be on its way when the page has answered: it was typed for what is asked no longer.
#[derive(Clone, Copy, Default, PartialEq, Eq)]
enum Unread {
    #[default]
    Nothing,
    /// Keys, perhaps.
    Keys,
    /// The rest of a line that was begun.
    Line,
}

impl Typist {
    fn begin(&self, line: &str, unread: Unread) {
        *self.typed() = OnLine { line: line.to_owned(), unread, is_begun: false };
    }

    fn typed(&self) -> MutexGuard<'_, OnLine> {
        self.typed.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Hinter for Typist {
    type Hint = String;

    /// Hints at nothing. The editor asks for a hint when it has begun to read and at every key.
    fn hint(&self, line: &str, _at: usize, _context: &Context<'_>) -> Option<String> {
        let mut typed = self.typed();
        line.clone_into(&mut typed.line);
        if !std::mem::replace(&mut typed.is_begun, true) && typed.unread != Unread::Nothing {
            typed.unread = match read_ahead().last() {
                Some(b'\r' | b'\n') => Unread::Nothing,
                Some(_) => Unread::Line,
                None if typed.unread == Unread::Line => Unread::Line,
                None => Unread::Nothing,
            };
        }
        drop(typed);
        self.page.reading(call_back);
        None
    }
}

impl Validator for Typist {
    /// Finds every line good. The editor has one looked at when it has been entered, before it stops reading.
    fn validate(&self, _: &mut ValidationContext<'_>) -> rustyline::Result<ValidationResult> {
        self.page.not_reading();
        Ok(ValidationResult::Valid(None))
    }
}

impl Completer for Typist {
    type Candidate = String;
}

impl Highlighter for Typist {}

impl Helper for Typist {}

/// Ends the read of the editor as Ctrl-C would: it takes the signal for that and leaves its line.
#[cfg(unix)]
fn call_back() {
    let _ = nix::sys::signal::raise(nix::sys::signal::Signal::SIGINT);
}

#[cfg(not(unix))]
fn call_back() {}

/// Reads what was typed and not read yet, without waiting. The editor has the terminal raw: all of it can be read.
#[cfg(unix)]
fn read_ahead() -> Vec<u8> {
    let stdin = rustix::stdio::stdin();
    let mut ahead = Vec::new();
    while let Ok(count @ 1..) = rustix::io::ioctl_fionread(stdin) {
        let mut bytes = vec![0; usize::try_from(count).unwrap_or(1).min(1024)];
        match rustix::io::read(stdin, &mut bytes[..]) {
            Ok(count @ 1..) => ahead.extend_from_slice(&bytes[..count]),
            _ => break,
        }
    }
    ahead
}

#[cfg(not(unix))]
fn read_ahead() -> Vec<u8> {
    Vec::new()
}

#[cfg(unix)]
fn forget_typed() {
    use rustix::termios::{QueueSelector, tcflush};
    // Where the queue can't be emptied, a stray key is read as an answer would be, and refused like one.
    let _ = tcflush(rustix::stdio::stdin(), QueueSelector::IFlush);
}

#[cfg(not(unix))]
fn forget_typed() {}
