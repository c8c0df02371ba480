//! Parsing of a file past its slips, so that one run tells them all.

use std::cell::Cell;
use std::ops::Range;

use rhai::{AST, Engine, ParseError};

use super::edits::{Edit, said};
use super::lexicon::Lexicon;
use super::mended::Mended;
use super::names::{MEANT, misnamed};
use super::parse_errors::explain;
use super::pieces::pieces;
use super::search::Search;
use super::tokens::{Kind, position, tokens};
use super::{Fault, MOST_FAULTS, SourceFile};

/// The most bytes that are parsed in looking for what lets the pieces of a file parse.
const MOST_BYTES: usize = 3 << 19;
/// The most rounds in which names are looked for that nobody has given, one in each.
const MOST_ROUNDS: usize = 60;

/// What came of parsing a file.
pub(crate) struct Parsed {
    /// The parsed file; where it has faults, with these mended or left out, so that the rest can be checked.
    pub(crate) ast: Option<AST>,
    /// Everything that was wrong with its syntax.
    pub(crate) faults: Vec<Fault>,
    /// The text that was parsed, which tells where its places were in the author's.
    pub(crate) mended: Mended,
    /// Whether no statement had to be left out.
    pub(crate) is_whole: bool,
    /// How many bytes were parsed or looked at.
    pub(crate) work: usize,
}

/// Parses a file and goes on after each fault, so that one run finds them all.
///
/// The engine stops at its first error. So a file that does not parse is cut into pieces, and for each piece
/// that does not the edit is searched that lets it; a piece that none mends is left out. What the engine says
/// then is about names.
pub(crate) fn parse(engine: &Engine, file: &SourceFile) -> Parsed {
    let parsed =
        Parsed { ast: None, faults: Vec::new(), mended: Mended::new(&file.text), is_whole: true, work: 0 };
    let mut parser = Parser { file, parsed };
    let mut compiled = engine.compile(&file.text);
    if compiled.is_err() {
        parser.mend_pieces();
        let most = parser.parsed.work + MOST_BYTES;
        for _ in 0..MOST_ROUNDS {
            compiled = engine.compile(parser.parsed.mended.text());
            parser.parsed.work += parser.parsed.mended.text().len();
            match &compiled {
                Err(error) if parser.parsed.work < most => parser.mend_name(error),
                _ => break,
            }
        }
        tracing::info!(work = parser.parsed.work, "parsed past slips");
    }
    if let Some(error) = compiled.as_ref().err().filter(|_| parser.parsed.faults.len() <= MOST_FAULTS) {
        parser.tell_rest(error.position().line().unwrap_or(1), "and more places");
    }
    if compiled.is_ok() {
        parser.find_open_comment(engine);
    }
    let ast = compiled.ok().map(|mut ast| {
        ast.set_source(file.name.as_str());
        ast
    });
    Parsed { ast, ..parser.parsed }
}

struct Parser<'a> {
    file: &'a SourceFile,
    parsed: Parsed,
}

impl Parser<'_> {
    /// Mends each piece that does not parse or make sense, or leaves it out.
    fn mend_pieces(&mut self) {
        let mut engine = super::parser();
        engine.set_strict_variables(false).set_allow_shadowing(true);
        let text = self.file.text.as_str();
        let tokens = tokens(text);
        let lexicon = Lexicon::of(&tokens);
        let mut search = Search { engine, lexicon, lines_before: 0, work: Cell::new(0) };
        let is_bad = |(piece, _): &(Range<usize>, usize)| {
            let first = tokens.partition_point(|token| token.start < piece.start);
            let last = tokens.partition_point(|token| token.start < piece.end);
            search.parse(&text[piece.clone()]).is_some()
                || (first..last).any(|n| search.lexicon.is_unknown(&tokens, n))
        };
        let bad: Vec<_> = pieces(text, &tokens).into_iter().filter(is_bad).collect();
        let most = search.work.get() + MOST_BYTES;
        for (n, (piece, lines_before)) in bad.iter().enumerate() {
            // Everything before the piece has been mended already.
            let start = piece.start + self.parsed.mended.text().len() - text.len();
            search.lines_before = *lines_before;
            if self.parsed.faults.len() >= MOST_FAULTS {
                self.tell_rest(search.lines_before + 1, &format!("and {} more places", bad.len() - n));
                self.leave_out(start..self.parsed.mended.text().len());
                break;
            }
            let share = most.saturating_sub(search.work.get()) / (bad.len() - n).min(MOST_FAULTS);
            self.mend_piece(&mut search, &text[piece.clone()], start, share);
        }
        self.parsed.work = search.work.get();
    }

    /// Says that more can't be read than is told.
    fn tell_rest(&mut self, line: usize, how_many: &str) {
        let message = format!("{how_many} from here on that can't be read");
        self.parsed.faults.push(Fault::new(&self.file.name, position(line, 1), message));
    }

    fn mend_piece(&mut self, search: &mut Search, piece: &str, start: usize, share: usize) {
        let (mended, edits) = search.mended(piece, share);
        search.lexicon.add(&tokens(&mended.text));
        for edit in edits {
            self.apply(edit, start, search.lines_before);
        }
        if let Some(error) = &mended.error {
            self.tell_error(error, search.lines_before);
            self.leave_out(start..start + mended.text.len());
        }
    }

    fn apply(&mut self, edit: Edit, start: usize, lines_before: usize) {
        self.tell(edit.fault, lines_before);
        self.parsed.mended.replace(start + edit.bytes.start..start + edit.bytes.end, &edit.with);
    }

    fn tell_error(&mut self, error: &ParseError, lines_before: usize) {
        let (message, help) = explain(error.err_type());
        let (line, column) = (error.position().line(), error.position().position().unwrap_or(1));
        self.tell(said(line.unwrap_or_default(), column, message, help), lines_before);
    }

    /// Tells a fault of a piece, before which so many lines stand.
    fn tell(&mut self, fault: Fault, lines_before: usize) {
        let line = fault.line.unwrap_or_default() + lines_before;
        let column = fault.column.map(|column| self.parsed.mended.original_column(line, column));
        let fault = Fault { file: self.file.name.clone(), line: Some(line), column, ..fault };
        // What nobody has defined is not defined wherever it stands: the first place says so. Where another name was
        // meant, each place is to be mended.
        let is_named = ["been defined", "not a name", "a to z alone", "not known"]
            .iter()
            .any(|so| fault.message.contains(so));
        let is_once = is_named && !fault.help.as_deref().is_some_and(|help| help.starts_with(MEANT));
        let is_known = self.parsed.faults.iter().any(|known| {
            let is_same = is_once && (&known.message, &known.help) == (&fault.message, &fault.help);
            is_same || (known.line, known.column) == (fault.line, fault.column)
        });
        if !is_known && self.parsed.faults.len() < MOST_FAULTS {
            self.parsed.faults.push(fault);
        }
    }

    /// Mends a name that is not given, or given twice; leaves the piece out where the error is another one.
    fn mend_name(&mut self, error: &ParseError) {
        let text = self.parsed.mended.text().to_owned();
        let tokens = tokens(&text);
        if let Some(edit) = misnamed(error, &tokens) {
            return self.apply(edit, 0, 0);
        }
        self.tell_error(error, 0);
        let line = error.position().line().unwrap_or(usize::MAX);
        let at = text.split_inclusive('\n').take(line).map(str::len).sum::<usize>().saturating_sub(1);
        if let Some((piece, _)) = pieces(&text, &tokens).into_iter().find(|(piece, _)| piece.contains(&at)) {
            self.leave_out(piece);
        }
    }

    /// Leaves a piece of the mended text out, with its name still given.
    fn leave_out(&mut self, piece: Range<usize>) {
        self.parsed.is_whole = false;
        let original = &self.parsed.mended.text()[piece.clone()];
        let inside = tokens(original);
        let name = inside.get(1).filter(|token| token.kind == Kind::Word).map(|token| token.text);
        let closing = inside.iter().find(|token| token.is(")"));
        let stand_in = match (inside.first(), name, closing) {
            (Some(word), Some(name), _) if word.is("let") || word.is("const") => format!("let {name} = ();"),
            (Some(word), Some(_), Some(closing)) if word.is("fn") => {
                format!("{}{{}}", &original[word.start..closing.end()])
            }
            _ => String::new(),
        };
        let lines = "\n".repeat(original.matches('\n').count());
        self.parsed.mended.replace(piece, &format!("{stand_in}{lines}"));
    }

    /// Finds a comment that is never closed. The engine takes the rest of the file for part of it without a word, and
    /// the tests in there would never be done; so would a stray bracket at the very end, which is how it shows.
    fn find_open_comment(&mut self, engine: &Engine) {
        let text = &self.file.text;
        let Some(at) = text.rfind("/*").filter(|_| engine.compile(format!("{text}\n)")).is_ok()) else {
            return;
        };
        let message = "this comment is never closed, and what follows it would not be done".to_owned();
        let column = text[..at].rsplit('\n').next().map_or(0, |line| line.chars().count()) + 1;
        let line = text[..at].matches('\n').count() + 1;
        self.tell(said(line, column, message, "close it with */"), 0);
    }
}
