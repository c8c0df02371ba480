use std::cell::Cell;
use std::collections::BTreeSet;
use std::ops::Range;

use rhai::{AST, Engine, OptimizationLevel, ParseError, ParseErrorType};

use super::lexicon::Lexicon;
use super::mended::Mended;
use super::pieces::pieces;
use super::search::Search;
use super::tokens::{Kind, position, tokens};
use super::{Fault, SourceFile, explain};

/// The most bytes that are parsed in looking for what lets the pieces of a file parse.
const MOST_BYTES: usize = 1 << 20;
/// The most rounds in which names are looked for that nobody has given, one in each.
const MOST_ROUNDS: usize = 60;
/// The most faults that are reported of one file.
const MOST_FAULTS: usize = 100;

/// What came of parsing a file.
pub(crate) struct Parsed {
    /// The parsed file; where it has faults, with these mended or left out, so that the rest can be checked.
    pub(crate) ast: Option<AST>,
    /// Everything that was wrong with its syntax.
    pub(crate) faults: Vec<Fault>,
    /// Lines on which whatever else is found follows from the fault that was reported there first.
    pub(crate) covered: BTreeSet<usize>,
    /// The text that was parsed, which tells where its places were in the author's.
    pub(crate) mended: Mended,
    /// Whether statements had to be left out.
    pub(crate) is_whole: bool,
}

/// Parses a file and goes on after each fault, so that one run finds them all.
///
/// The engine stops at its first error. So a file that does not parse is cut into pieces, and for each piece that does not
/// the edit is searched that lets it; a piece that none mends is left out. What the engine says then is about names.
pub(crate) fn parse(engine: &Engine, file: &SourceFile) -> Parsed {
    let mut parser = Parser {
        file,
        mended: Mended::new(&file.text),
        faults: Vec::new(),
        covered: BTreeSet::new(),
        is_whole: true,
    };
    let mut parsed = engine.compile(&file.text);
    if parsed.is_err() {
        parser.mend_pieces();
        let n_rounds = (MOST_BYTES / file.text.len().max(1)).clamp(2, MOST_ROUNDS);
        for _ in 0..n_rounds {
            parsed = engine.compile(parser.mended.text());
            let Err(error) = &parsed else { break };
            if !parser.mend(error) {
                break;
            }
        }
    }
    if parsed.is_ok()
        && let Some(fault) = open_comment(engine, file)
    {
        parser.report(fault);
    }
    let ast = parsed.ok().map(|mut ast| {
        ast.set_source(file.name.as_str());
        ast
    });
    Parsed {
        ast,
        faults: parser.faults,
        covered: parser.covered,
        mended: parser.mended,
        is_whole: parser.is_whole,
    }
}

/// Makes an engine that parses what the one for procedures does, and leaves names alone.
fn nameless() -> Engine {
    let mut engine = super::engine();
    engine
        .set_strict_variables(false)
        .set_allow_shadowing(true)
        .set_optimization_level(OptimizationLevel::None);
    engine
}

struct Parser<'a> {
    file: &'a SourceFile,
    mended: Mended,
    faults: Vec<Fault>,
    covered: BTreeSet<usize>,
    is_whole: bool,
}

impl Parser<'_> {
    /// Mends each piece that does not parse, or leaves it out.
    fn mend_pieces(&mut self) {
        let engine = nameless();
        let tokens = tokens(&self.file.text);
        let lexicon = Lexicon::of(&tokens);
        let mut search = Search { engine: &engine, lexicon, lines_before: 0, budget: Cell::new(usize::MAX) };
        let pieces = pieces(&self.file.text, &tokens);
        let is_bad = |piece: &Range<usize>| {
            let first = tokens.partition_point(|token| token.start < piece.start);
            let last = tokens.partition_point(|token| token.start < piece.end);
            search.parse(&self.file.text[piece.clone()]).is_some()
                || (first..last).any(|n| search.lexicon.is_unknown(&tokens, n))
        };
        let bad: Vec<_> = pieces.into_iter().filter(is_bad).collect();
        search.budget.set(MOST_BYTES);
        for (n, piece) in bad.iter().enumerate() {
            let share = search.budget.get() / (bad.len() - n).min(MOST_FAULTS);
            if self.faults.len() >= MOST_FAULTS {
                let line = self.file.text[..piece.start].matches('\n').count() + 1;
                let message = format!("and {} more places from here on that can't be read", bad.len() - n);
                self.faults.push(Fault::new(&self.file.name, position(line, 1), message));
                self.leave_out(piece.start..self.file.text.len());
                break;
            }
            self.mend_piece(&mut search, piece.clone(), share);
        }
    }

    fn mend_piece(&mut self, search: &mut Search<'_>, piece: Range<usize>, share: usize) {
        let lines_before = self.file.text[..piece.start].matches('\n').count();
        search.lines_before = lines_before;
        let way = search.mended(&self.file.text[piece.clone()], share);
        search.lexicon.add(&tokens(&way.text));
        // Everything before the piece has been mended already.
        let start = piece.start + self.mended.text().len() - self.file.text.len();
        for edit in way.edits {
            let line = edit.said.line + lines_before;
            let column = self.mended.original_column(line, edit.said.column);
            let fault = Fault::new(&self.file.name, position(line, column), edit.said.message);
            self.report(fault.help(edit.said.help));
            if edit.covers {
                self.covered.insert(line);
            }
            self.mended.replace(start + edit.bytes.start..start + edit.bytes.end, &edit.with);
        }
        if let Some(error) = &way.error {
            let tokens = tokens(&way.text);
            let mut fault = explain(&self.file.name, error, &tokens);
            fault.line = fault.line.map(|line| line + lines_before);
            fault.set_column(&self.mended);
            self.report(fault);
            let end = start + way.text.len();
            self.leave_out_mended(start..end);
        }
    }

    fn report(&mut self, fault: Fault) {
        let is_covered = fault.line.is_some_and(|line| self.covered.contains(&line));
        if is_covered || self.faults.len() >= MOST_FAULTS {
            return;
        }
        // What nobody has defined is not defined wherever it stands: the first place says so. Where another name was meant,
        // each place is to be mended.
        let is_same = |f: &Fault| {
            f.message == fault.message
                && (f.message.ends_with(explain::NOT_DEFINED) || f.message.ends_with("not a name"))
                && f.help == fault.help
                && !f.help.as_deref().is_some_and(|help| help.starts_with(explain::MEANT))
        };
        let is_known =
            self.faults.iter().any(|f| (f.line, f.column) == (fault.line, fault.column) || is_same(f));
        if !is_known && !self.is_the_doubled_name(&fault) {
            self.faults.push(fault);
        }
    }

    /// Says of a name that is given twice which one was meant the second time, where one below it is not given at all: the two
    /// are one slip.
    fn is_the_doubled_name(&mut self, fault: &Fault) -> bool {
        let name = |message: &str, end: &str| Some(message.strip_suffix(end)?.trim_matches('"').to_owned());
        let Some(missing) = name(&fault.message, explain::NOT_DEFINED) else { return false };
        let doubled = self.faults.iter_mut().rev().find_map(|f| {
            let doubled = name(&f.message, explain::DEFINED_ALREADY).filter(|_| f.line < fault.line)?;
            Some((f, doubled))
        });
        let Some((first, doubled)) = doubled else { return false };
        let stem = |name: &str| name.trim_end_matches(|c: char| c.is_ascii_digit()).to_owned();
        let is_other = fault.help.as_deref().is_some_and(|help| help.starts_with(explain::MEANT));
        if is_other && stem(&missing) != stem(&doubled) {
            return false;
        }
        first.help = Some(format!("give it another name: {missing} is used below and given nowhere"));
        true
    }

    /// Reports an error that is about names and mends the place; returns whether anything could be done there.
    fn mend(&mut self, error: &ParseError) -> bool {
        let text = self.mended.text().to_owned();
        let tokens = tokens(&text);
        let mut fault = explain(&self.file.name, error, &tokens);
        fault.set_column(&self.mended);
        self.report(fault);
        let place = (error.position().line().unwrap_or_default(), error.position().position().unwrap_or(1));
        let n = tokens.partition_point(|token| (token.line, token.column) < place);
        match (error.err_type(), tokens.get(n)) {
            (ParseErrorType::VariableUndefined(name), Some(token)) if token.text == name.as_str() => {
                if let Some(given) = explain::given_as(name, &tokens[..n], &tokens) {
                    self.mended.replace(given.start..given.end(), name);
                    return true;
                }
                let asking = ["if", "while", "!", "&&", "||"];
                let is_asked = n > 0 && asking.iter().any(|mark| tokens[n - 1].is(mark));
                let stand_in = explain::meant(name, &tokens).unwrap_or(if is_asked { "true" } else { "()" });
                self.mended.replace(token.start..token.end(), &padded(stand_in, token.text));
            }
            (ParseErrorType::VariableExists(name), Some(token)) if token.text == name.as_str() && n > 0 => {
                let before = &tokens[n - 1];
                self.mended.replace(before.start..before.end(), &padded("", before.text));
            }
            (_, token) => {
                let at = token.map_or(text.len().saturating_sub(1), |token| token.start);
                let piece = pieces(&text, &tokens).into_iter().find(|piece| piece.contains(&at));
                piece.into_iter().for_each(|piece| self.leave_out_mended(piece));
            }
        }
        self.mended.text() != text
    }

    fn leave_out(&mut self, piece: Range<usize>) {
        let (now, then) = (self.mended.text().len(), self.file.text.len());
        self.leave_out_mended(piece.start + now - then..piece.end + now - then);
    }

    /// Puts blanks in place of a piece, with its name still given.
    fn leave_out_mended(&mut self, piece: Range<usize>) {
        self.is_whole = false;
        let original = &self.mended.text()[piece.clone()];
        let inside = tokens(original);
        let name = inside.get(1).filter(|token| token.kind == Kind::Word).map(|token| token.text);
        let closing = inside.iter().position(|token| token.is(")"));
        let stand_in = match (inside.first().map(|token| token.text), name, closing) {
            (Some(word @ ("let" | "const")), Some(name), _) => format!("{word} {name} = ();"),
            (Some("fn"), Some(_), Some(closing)) => {
                format!("{}{{}}", &original[inside[0].start..inside[closing].end()])
            }
            _ => String::new(),
        };
        let blank: String = original.chars().map(|c| if c == '\n' { '\n' } else { ' ' }).collect();
        let head = blank.find('\n').unwrap_or(blank.len());
        let rest = blank.get(stand_in.len().min(head)..).unwrap_or_default();
        let with = format!("{stand_in}{rest}");
        self.mended.replace(piece, &with);
    }
}

/// Finds a comment that is never closed. The engine takes the rest of the file for part of it without a word, and the
/// tests in there would never be done; so would a stray bracket at the very end, which is how it shows.
fn open_comment(engine: &Engine, file: &SourceFile) -> Option<Fault> {
    let at = file.text.rfind("/*")?;
    engine.compile(format!("{}\n)", file.text)).ok()?;
    let before = &file.text[..at];
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().map_or(0, |line| line.chars().count()) + 1;
    let message = "this comment is never closed, and what follows it would not be done";
    Some(Fault::new(&file.name, position(line, column), message).help("close it with */"))
}

fn padded(text: &str, to: &str) -> String {
    let missing = to.chars().count().saturating_sub(text.chars().count());
    format!("{text}{}", " ".repeat(missing))
}
