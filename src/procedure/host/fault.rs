use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use rhai::{Dynamic, EvalAltResult};
use serde::Serialize;

use super::super::syntax::{Mended, position};
use super::{Halt, Site};

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// The procedure can't run like this, or not on every way.
    Error,
    /// It can run, but a technician will stumble.
    Warning,
}

/// Something wrong with a procedure: where, what was found, and what to write instead.
///
/// A word of the language throws one without a place, and the run puts the place to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    pub severity: Severity,
    /// The file, relative to the procedure's folder.
    pub file: String,
    /// Line, from 1; none where the whole file is meant.
    pub line: Option<usize>,
    /// Column in characters, from 1.
    pub column: Option<usize>,
    pub message: String,
    pub help: Option<String>,
}

impl Fault {
    pub fn at_site(site: &Site, message: impl Into<String>) -> Fault {
        Fault::new(&site.file, position(site.line, site.column), message)
    }

    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }

    #[must_use]
    pub fn warning(self) -> Fault {
        Fault { severity: Severity::Warning, ..self }
    }

    pub fn new(file: &str, position: rhai::Position, message: impl Into<String>) -> Fault {
        Fault {
            severity: Severity::Error,
            file: file.to_owned(),
            line: position.line(),
            column: position.line().map(|_| position.position().unwrap_or(1)),
            message: shortened(message.into()),
            help: None,
        }
    }

    /// Makes a fault whose place is put to it later.
    pub fn of(message: impl Into<String>) -> Fault {
        Fault::new("", rhai::Position::NONE, message)
    }

    /// Puts it to a position in a file.
    #[must_use]
    pub(crate) fn placed(self, file: &str, position: rhai::Position) -> Fault {
        Fault { severity: self.severity, help: self.help, ..Fault::new(file, position, self.message) }
    }

    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Fault {
        self.help = Some(help.into());
        self
    }

    /// Puts the column of a place in a mended text back to where it is in the author's.
    pub(crate) fn set_column(&mut self, mended: &Mended) {
        if let (Some(line), Some(column)) = (self.line, self.column) {
            self.column = Some(mended.original_column(line, column));
        }
    }

    /// Renders the fault with the source line and a caret under the word.
    pub fn render(&self, source: Option<&str>) -> String {
        let level = match self.severity {
            Severity::Error => Level::ERROR,
            Severity::Warning => Level::WARNING,
        };
        let help = self.help.clone().map(shortened);
        let line = source.and_then(|source| source.lines().nth(self.line?.checked_sub(1)?));
        if let (Some(line), Some(number), Some(column)) = (line, self.line, self.column)
            && line.len() > LONGEST_SHOWN
        {
            let help = help.map(|help| format!("\nhelp: {help}")).unwrap_or_default();
            let level = if self.is_error() { "error" } else { "warning" };
            return format!("{level}: {}\n --> {}:{number}:{column}{help}", self.message, self.file);
        }
        let mut group = Group::with_title(level.primary_title(self.message.as_str()));
        if let Some((source, span)) = source.and_then(|source| Some((source, self.span(source)?))) {
            group = group.element(
                Snippet::source(source)
                    .path(self.file.as_str())
                    .annotation(AnnotationKind::Primary.span(span)),
            );
        }
        if let Some(help) = &help {
            group = group.element(Level::HELP.message(help.as_str()));
        }
        Renderer::plain().term_width(COLUMNS).render(&[group])
    }

    /// Returns its first and its last place in the text of its file, each a line and a column: what it points at
    /// lies before the second.
    pub(crate) fn places(&self, source: &str) -> Option<[(usize, usize); 2]> {
        let (line, column) = self.line.zip(self.column)?;
        Some([(line, column), (line, column + source.get(self.span(source)?)?.chars().count())])
    }

    /// Returns the bytes of the word at the position, or of one character where no word stands there.
    fn span(&self, source: &str) -> Option<std::ops::Range<usize>> {
        let line_start: usize =
            source.split_inclusive('\n').take(self.line?.checked_sub(1)?).map(str::len).sum();
        let line = source.get(line_start..)?.split('\n').next()?;
        let column = self.column?.saturating_sub(1);
        let start = line.char_indices().nth(column).map_or(line.len(), |(at, _)| at);
        let word = |c: char| c.is_alphanumeric() || c == '_';
        let rest = &line[start..];
        let width = rest.find(|c| !word(c)).unwrap_or(rest.len());
        let width = if width == 0 { rest.chars().next().map_or(0, char::len_utf8) } else { width };
        Some(line_start + start..line_start + start + width)
    }
}

impl From<Fault> for Halt {
    fn from(fault: Fault) -> Halt {
        Halt::Fault(Box::new(fault))
    }
}

impl From<Fault> for Box<EvalAltResult> {
    /// Makes an engine error of what a script did wrong in the eyes of a word: told by its type from what a script says
    /// with `throw`. The engine puts the call's position to it.
    fn from(fault: Fault) -> Box<EvalAltResult> {
        Box::new(EvalAltResult::ErrorRuntime(Dynamic::from(fault), rhai::Position::NONE))
    }
}

impl From<Halt> for Box<EvalAltResult> {
    /// Turns a halt of the walk into one of the engine, which no script can catch.
    fn from(halt: Halt) -> Box<EvalAltResult> {
        match halt {
            Halt::Fault(fault) => (*fault).into(),
            halt => Box::new(EvalAltResult::ErrorTerminated(Dynamic::from(halt), rhai::Position::NONE)),
        }
    }
}

/// The most faults of one kind of check that are told of one file: more are of no use to anybody.
pub(crate) const MOST_FAULTS: usize = 40;
/// Columns of the picture of a line.
const COLUMNS: usize = 80;
/// A source line longer than this is not shown with its fault, in bytes.
const LONGEST_SHOWN: usize = 1_000;

/// A script's own words may be part of a message; what is too long to be read is cut, and what would break its line.
fn shortened(message: String) -> String {
    const LONGEST: usize = 400;
    let mut message = message.replace(['\n', '\r'], " ");
    if let Some((at, _)) = message.char_indices().nth(LONGEST) {
        message.truncate(at);
        message.push_str(" ...");
    }
    message
}

/// Returns the known word nearest to this one, where one is near enough to be meant.
pub(crate) fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let folded = word.to_lowercase();
    known
        .into_iter()
        .map(|known| {
            let lower = known.to_lowercase();
            // Pasted twice, a word is far from itself.
            let distance =
                if folded == lower.repeat(2) { 0 } else { strsim::damerau_levenshtein(&folded, &lower) };
            (distance, known)
        })
        .filter(|(distance, known)| *distance <= known.len().max(word.len()).div_ceil(3))
        .min_by_key(|(distance, known)| {
            (*distance, std::cmp::Reverse(shared_start(&folded, known)), known.len())
        })
        .map(|(_, known)| known)
}

/// Counts the letters that two words begin with alike.
fn shared_start(a: &str, b: &str) -> usize {
    a.chars().zip(b.chars()).take_while(|(a, b)| a.eq_ignore_ascii_case(b)).count()
}
