use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use rustyline::completion::Completer;
use rustyline::error::ReadlineError;
use rustyline::highlight::Highlighter;
use rustyline::hint::Hinter;
use rustyline::history::DefaultHistory;
use rustyline::validate::{ValidationContext, ValidationResult, Validator};
use rustyline::{Config, Context, Editor, ExternalPrinter, Helper};

use super::input::{Stopped, Typed, failed};
use super::keys::Ahead;
use crate::page::Board;

/// The line editor of a terminal. Where a page can answer as well, it is called back from a line that is being typed.
pub(crate) struct Terminal {
    editor: Editor<Typist, DefaultHistory>,
    /// While there is one, the editor waits for more than keys, and sees at once that it is called back.
    _printer: Option<Box<dyn ExternalPrinter + Send>>,
    /// What stands on the line, to be typed on.
    begun: String,
    ahead: Ahead,
}

impl Terminal {
    /// Opens the terminal for line editing, without a history: answers and names are nobody else's.
    pub(crate) fn open() -> Result<Terminal, Stopped> {
        /// A lone escape is a key when so many ms have passed: else the editor takes it for the
        /// beginning of the next one.
        const ESCAPE_MS: u16 = 500;
        let config = Config::builder().auto_add_history(false).keyseq_timeout(Some(ESCAPE_MS)).build();
        let editor = Editor::with_config(config)
            .map_err(|error| Stopped::Failed(format!("the terminal can't be used: {error}")))?;
        Ok(Terminal { editor, _printer: None, begun: String::new(), ahead: Ahead::default() })
    }

    pub(super) fn beside(mut self, page: &Arc<Board>) -> Result<Terminal, Stopped> {
        if cfg!(not(unix)) {
            return Err(failed("a terminal is called back for a page on Unix only".to_owned()));
        }
        self.editor.set_helper(Some(Typist { page: Arc::clone(page), typed: Mutex::default() }));
        let printer = self.editor.create_external_printer().map_err(|error| failed(error.to_string()))?;
        Ok(Terminal { _printer: Some(Box::new(printer)), ..self })
    }

    pub(super) fn line(&mut self, prompt: &str, afresh: bool) -> Result<Typed, Stopped> {
        let begun = self.ahead.begins(std::mem::take(&mut self.begun), afresh);
        if let Some(typist) = self.editor.helper() {
            *typist.typed() = OnLine { line: begun.clone(), is_stale: self.ahead.is_stale };
        }
        let read = self.editor.readline_with_initial(prompt, (&begun, ""));
        if let Some(typist) = self.editor.helper() {
            typist.page.not_reading();
            let mut typed = typist.typed();
            self.ahead.is_stale = typed.is_stale;
            if read.is_ok() {
                typed.line.clear();
            }
        }
        let text = read.map_err(|error| match error {
            ReadlineError::Interrupted | ReadlineError::Eof => Stopped::Left,
            error => failed(error.to_string()),
        })?;
        Ok(self.ahead.entered(text))
    }

    /// Takes note that the page has answered: what is half typed, or on its way, was typed for what is asked no longer.
    /// It stands on the next line, and answers nothing before that has been cleared.
    pub(super) fn is_late(&mut self) {
        self.leave();
        self.ahead.is_late = true;
    }

    /// Has the next line go on with this one, which was left.
    pub(super) fn types_on(&mut self) {
        self.leave();
        self.ahead.goes_on = true;
    }

    fn leave(&mut self) {
        if let Some(typist) = self.editor.helper() {
            let left = std::mem::take(&mut typist.typed().line);
            if !left.is_empty() {
                self.begun = left;
            }
        }
    }
}

/// Who sits at the editor while a page is open: keeps what is typed, and says when the editor can be called back, which
/// is as long as the signal for that is the editor's own to take.
struct Typist {
    page: Arc<Board>,
    typed: Mutex<OnLine>,
}

/// What is known of the line that is typed.
#[derive(Default)]
struct OnLine {
    line: String,
    is_stale: bool,
}

impl Typist {
    fn typed(&self) -> MutexGuard<'_, OnLine> {
        self.typed.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Hinter for Typist {
    type Hint = String;

    /// Hints at nothing. The editor asks for a hint when it has begun to read and at every key that changes the line.
    fn hint(&self, line: &str, _at: usize, _context: &Context<'_>) -> Option<String> {
        let mut typed = self.typed();
        line.clone_into(&mut typed.line);
        // Whoever has cleared the line has seen what is asked.
        typed.is_stale &= !line.is_empty();
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
