use std::io::{self, ErrorKind, IsTerminal, Write};
use std::sync::{Arc, OnceLock};

use super::clean;
use super::clean::escaped;

/// Why standard output could not be written, where it could not.
static UNWRITTEN: OnceLock<String> = OnceLock::new();

/// Where text for people goes: cleans it, wraps it to the width and writes it.
///
/// A write that fails (a closed pipe, a vanished terminal) is not an error of the work in hand: what matters goes to
/// the journal, so the screen only remembers that it is gone.
pub(crate) struct Screen {
    out: Box<dyn Write>,
    /// The width where that is given; else it is the terminal's, whose window may change.
    fixed: Option<usize>,
    unicode: bool,
    /// Whether a line can be written over.
    is_terminal: bool,
    /// Whether it is what the program was asked for, and not what is said beside that.
    is_output: bool,
    gone: bool,
    listener: Option<Listener>,
}

/// What is said on a screen, cleaned and not yet broken into lines.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Heard<'a> {
    Title(&'a str),
    Paragraph(&'a str),
    /// A text behind what stands left of it.
    Item(&'a str, &'a str),
    /// What all that was said comes to.
    Result(&'a str),
}

/// Who hears what is said on a screen, beside who reads it there.
pub(crate) type Listener = Arc<dyn Fn(Heard<'_>) + Send + Sync>;

impl Screen {
    /// Makes a screen on standard output, as wide as the terminal up to 100 columns, or 80 where there is none.
    pub(crate) fn stdout() -> Screen {
        Screen {
            out: Box::new(io::stdout()),
            fixed: None,
            unicode: locale_is_utf8(),
            is_terminal: io::stdout().is_terminal(),
            is_output: true,
            gone: false,
            listener: None,
        }
    }

    /// Makes a screen on standard error, for messages that must not mix with output.
    pub(crate) fn stderr() -> Screen {
        let is_terminal = io::stderr().is_terminal();
        Screen { out: Box::new(io::stderr()), is_terminal, is_output: false, ..Screen::stdout() }
    }

    /// Makes a screen of a given width on any writer.
    #[cfg(test)]
    pub(crate) fn new(out: Box<dyn Write>, width: usize) -> Screen {
        Screen {
            out,
            fixed: Some(width),
            unicode: true,
            is_terminal: false,
            is_output: false,
            gone: false,
            listener: None,
        }
    }

    pub(crate) fn heard_by(&mut self, listener: Listener) {
        self.listener = Some(listener);
    }

    /// Says what only the screen shows: whoever hears it is told in another way.
    pub(crate) fn unheard(&mut self, say: impl FnOnce(&mut Screen)) {
        let listener = self.listener.take();
        say(self);
        self.listener = listener;
    }

    fn hear(&self, heard: Heard<'_>) {
        if let Some(listener) = &self.listener {
            listener(heard);
        }
    }

    pub(crate) fn width(&self) -> usize {
        self.fixed.unwrap_or_else(|| {
            let columns = terminal_size::terminal_size().map_or(80, |(width, _)| usize::from(width.0));
            columns.clamp(20, 100)
        })
    }

    pub(crate) fn is_gone(&self) -> bool {
        self.gone
    }

    /// Draws a line across the screen with a title in it.
    pub(crate) fn title(&mut self, title: &str) {
        let title = clean(title);
        self.hear(Heard::Title(&title));
        let used = title.chars().count() + 4;
        self.line(&format!("── {title} {}", "─".repeat(self.width().saturating_sub(used))));
    }

    /// Writes a paragraph from the first column on.
    pub(crate) fn say(&mut self, text: &str) {
        self.paragraph(0, text);
    }

    /// Writes what all that was said comes to, as a paragraph from the first column on.
    pub(crate) fn result(&mut self, text: &str) {
        self.hear(Heard::Result(&clean(text)));
        self.unheard(|screen| screen.say(text));
    }

    /// Writes a paragraph wrapped to the width, every line indented by this many columns.
    pub(crate) fn paragraph(&mut self, indent: usize, text: &str) {
        let pad = " ".repeat(indent);
        let text = clean(text);
        self.hear(Heard::Paragraph(&text));
        for line in text.lines() {
            if is_command(line) {
                self.line(&format!("{pad}{line}"));
                continue;
            }
            for wrapped in textwrap::wrap(line, self.wrapping(&pad, &pad)) {
                self.line(&wrapped);
            }
        }
    }

    /// Writes a paragraph behind a marker, later lines aligned with the first one's text.
    pub(crate) fn item(&mut self, marker: &str, text: &str) {
        let pad = " ".repeat(marker.chars().count());
        let text = clean(text);
        self.hear(Heard::Item(marker.trim(), &text));
        for line in textwrap::wrap(&text, self.wrapping(marker, &pad)) {
            self.line(&line);
        }
    }

    /// Wraps between words only: a path or a session's name that is broken can't be copied, however long it is.
    fn wrapping<'a>(&self, first: &'a str, later: &'a str) -> textwrap::Options<'a> {
        textwrap::Options::new(self.width())
            .initial_indent(first)
            .subsequent_indent(later)
            .word_separator(textwrap::WordSeparator::AsciiSpace)
            .word_splitter(textwrap::WordSplitter::NoHyphenation)
            .break_words(false)
    }

    /// Writes one line as it is (cleaned, not wrapped).
    pub(crate) fn line(&mut self, text: &str) {
        self.write(&clean(text));
        self.write("\n");
    }

    /// Writes a message: on a terminal wrapped between words, else as it is, for a program that looks for its words.
    pub(crate) fn message(&mut self, text: &str) {
        if self.is_terminal {
            self.report(text);
        } else {
            text.lines().for_each(|line| self.line(line));
        }
    }

    /// Writes a report on a script, wrapped but for the pictures of its lines, which have their columns to keep.
    pub(crate) fn report(&mut self, text: &str) {
        const HELP: &str = "= help: ";
        for line in text.lines() {
            let bare = line.trim_start();
            let indent = line.len() - bare.len();
            let behind_number = bare.trim_start_matches(|c: char| c.is_ascii_digit());
            let is_picture = behind_number.starts_with([' ', '|']) || bare.starts_with("-->");
            if bare.is_empty() || is_picture || is_command(line) {
                self.line(line);
            } else if let Some(help) = bare.strip_prefix(HELP) {
                self.item(&format!("{:indent$}{HELP}", ""), help);
            } else {
                self.item(&" ".repeat(indent), bare);
            }
        }
    }

    /// Writes all of a prompt but its last line, wrapped so that there is room to type behind it; returns that line.
    pub(crate) fn prompt(&mut self, text: &str) -> String {
        const ROOM: usize = 8;
        let text = clean(text);
        let width = self.width().saturating_sub(ROOM);
        if text.chars().count() <= width {
            return text;
        }
        let mut wrapping = self.wrapping("", "  ");
        wrapping.width = width;
        let mut lines: Vec<_> =
            textwrap::wrap(text.trim_end(), wrapping).into_iter().map(String::from).collect();
        let last = lines.pop().unwrap_or_default();
        for line in lines {
            self.line(&line);
        }
        format!("{last} ")
    }

    /// Shows a prompt, behind which somebody types.
    pub(crate) fn ask(&mut self, prompt: &str) {
        self.write(&clean(prompt));
        let flushed = self.out.flush();
        self.note(flushed);
    }

    /// Shows a text in place of the line that the cursor is on; an empty one clears it. Only a terminal whose cursor
    /// can be moved shows it: a transcript has no line that is written over.
    pub(crate) fn replace_line(&mut self, text: &str) {
        if !self.is_terminal || is_plain() {
            return;
        }
        let text = clean(text);
        let shown: String = text.chars().take(self.width().saturating_sub(1)).collect();
        // Return, clear to the end of the line: ECMA-48.
        self.write(&format!("\r\x1b[K{shown}"));
        let flushed = self.out.flush();
        self.note(flushed);
    }

    /// Writes a JSON document, with what could move a cursor or reorder a line escaped: the same document to a program,
    /// and harmless to a terminal.
    pub(crate) fn json(&mut self, document: &impl std::fmt::Display) {
        self.document(&escaped(&format!("{document:#}\n")));
    }

    /// Writes a document to the byte, as for JSON and CSV.
    pub(crate) fn document(&mut self, text: &str) {
        let written = self.out.write_all(text.as_bytes()).and_then(|()| self.out.flush());
        self.note(written);
    }

    fn write(&mut self, text: &str) {
        let text = if self.unicode { text.to_owned() } else { to_ascii(text) };
        let written = self.out.write_all(text.as_bytes());
        self.note(written);
    }

    fn note(&mut self, written: io::Result<()>) {
        self.gone |= written.is_err();
        if self.is_output
            && let Err(error) = written
        {
            unwritten(error);
        }
    }
}

/// Writes what is still to be written to standard output, and returns why any of it could not be. Whoever reads it may
/// have seen enough and closed it: that is no failure.
pub(crate) fn end_of_output() -> Option<&'static str> {
    io::stdout().flush().unwrap_or_else(unwritten);
    UNWRITTEN.get().map(String::as_str)
}

/// Notes that standard output could not be written.
pub(crate) fn unwritten(error: io::Error) {
    if error.kind() != ErrorKind::BrokenPipe {
        let _ = UNWRITTEN.set(error.to_string());
    }
}

/// Returns whether somebody sits at standard input and output.
pub(crate) fn is_interactive() -> bool {
    io::stdin().is_terminal() && io::stdout().is_terminal()
}

/// Returns whether the terminal says of itself that its cursor can't be moved. The line editor knows these names.
pub(crate) fn is_plain() -> bool {
    let named = std::env::var("TERM").unwrap_or_default();
    ["dumb", "cons25", "emacs"].iter().any(|plain| named.eq_ignore_ascii_case(plain))
}

/// Returns whether a line is a command to be copied, which stays whole.
fn is_command(line: &str) -> bool {
    line.trim_start().starts_with("spoolproof ")
}

fn locale_is_utf8() -> bool {
    let set = |name| std::env::var(name).ok().filter(|value| !value.is_empty());
    let locale = set("LC_ALL").or_else(|| set("LC_CTYPE")).or_else(|| set("LANG"));
    // Without any of the three, as on Windows, the terminal is taken to know UTF-8.
    locale.is_none_or(|value| {
        let value = value.to_lowercase();
        value.contains("utf-8") || value.contains("utf8")
    })
}

fn to_ascii(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '─' | '—' | '–' | '−' => '-',
            '·' | '•' => '.',
            '▲' => '^',
            'µ' | 'μ' => 'u',
            '°' => ' ',
            '±' => '~',
            '“' | '”' => '"',
            '‘' | '’' => '\'',
            c if c.is_ascii() => c,
            _ => '?',
        })
        .collect()
}
