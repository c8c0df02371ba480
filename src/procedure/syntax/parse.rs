use std::collections::BTreeSet;

use rhai::{AST, Engine, ParseError, ParseErrorType};

use super::mended::Mended;
use super::slips::mend_slips;
use super::tokens::{Kind, Token, position, tokens};
use super::{Fault, SourceFile, explain};

/// The most syntax errors that are looked for in one file, one in each round.
const MOST_ROUNDS: usize = 60;
/// The most bytes that are parsed again in all those rounds, so that a large file of nonsense takes no longer.
const MOST_BYTES: usize = 1 << 20;
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
/// The engine stops at its first error. So slips of the pen are looked for first, and mended in a copy; where the engine
/// still stops, the place is mended or its statement left out, and it starts again.
pub(crate) fn parse(engine: &Engine, file: &SourceFile) -> Parsed {
    let mut parser = Parser {
        file,
        mended: Mended::new(&file.text),
        faults: Vec::new(),
        covered: BTreeSet::new(),
        is_whole: true,
    };
    let mut parsed = engine.compile(parser.mended.text());
    if parsed.is_err() {
        parser.mend_slips();
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

struct Parser<'a> {
    file: &'a SourceFile,
    mended: Mended,
    faults: Vec<Fault>,
    covered: BTreeSet<usize>,
    is_whole: bool,
}

impl Parser<'_> {
    fn report(&mut self, fault: Fault) {
        let is_covered = fault.line.is_some_and(|line| self.covered.contains(&line));
        if is_covered || self.faults.len() >= MOST_FAULTS {
            return;
        }
        // What nobody has defined is not defined wherever it stands: the first place says so. Where another name was meant,
        // each place is to be mended.
        let is_same = |f: &Fault| {
            f.message == fault.message
                && f.message.ends_with(explain::NOT_DEFINED)
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

    fn mend_slips(&mut self) {
        let slips = mend_slips(&mut self.mended);
        for slip in slips.iter().filter(|slip| !slip.covered_lines().is_empty()).chain(&slips) {
            self.report(slip.fault(&self.file.name));
            self.covered.extend(slip.covered_lines());
        }
    }

    /// Reports an error and mends the place; returns whether anything could be done there.
    fn mend(&mut self, error: &ParseError) -> bool {
        let text = self.mended.text().to_owned();
        let tokens = tokens(&text);
        let mut fault = explain::explain(&self.file.name, error, &tokens);
        fault.set_column(&self.mended);
        self.report(fault);
        let at = self.offset(error).unwrap_or(text.len());
        let n = tokens.iter().position(|token| token.end() > at).unwrap_or(tokens.len());
        let (bytes, with) = match (error.err_type(), tokens.get(n)) {
            (ParseErrorType::VariableUndefined(name), Some(token)) if token.text == name.as_str() => {
                (token.start..token.end(), padded("()", token.text))
            }
            (ParseErrorType::VariableExists(name), Some(token)) if token.text == name.as_str() && n > 0 => {
                let before = &tokens[n - 1];
                (before.start..before.end(), padded("", before.text))
            }
            (ParseErrorType::MissingToken(mark, _), _) if (mark == ";" || mark == ",") && n > 0 => {
                let before = &tokens[n - 1];
                (before.end()..before.end(), mark.clone())
            }
            _ => match left_out(&text, &tokens, n) {
                Some((bytes, with)) => {
                    self.is_whole = false;
                    (bytes, with)
                }
                None => return false,
            },
        };
        self.mended.replace(bytes, &with);
        self.mended.text() != text
    }

    /// Returns where an error lies, in bytes of the mended text.
    fn offset(&self, error: &ParseError) -> Option<usize> {
        let line = error.position().line()?;
        let text = self.mended.text();
        let start: usize = text.split_inclusive('\n').take(line - 1).map(str::len).sum();
        let column = error.position().position().unwrap_or(1).saturating_sub(1);
        let rest = &text[start..];
        Some(start + rest.char_indices().nth(column).map_or(rest.len(), |(at, _)| at))
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

/// Returns the bytes of the statement around a token and what stands in for it: blanks, with its name still given.
fn left_out(text: &str, tokens: &[Token<'_>], n: usize) -> Option<(std::ops::Range<usize>, String)> {
    let statement = statements(tokens)
        .into_iter()
        .find(|statement| statement.end > n)
        .or_else(|| statements(tokens).into_iter().next_back())?;
    let inside = tokens.get(statement.clone())?;
    let (first, last) = (inside.first()?, inside.last()?);
    let bytes = first.start..last.end();
    let name = inside.get(1).filter(|token| token.kind == Kind::Word).map(|token| token.text);
    let stand_in = match (first.text, name) {
        ("let" | "const", Some(name)) => format!("{} {name} = ();", first.text),
        ("fn", Some(_)) => {
            let closing = inside.iter().position(|token| token.is(")"))?;
            format!("{}{{}}", &text[first.start..inside[closing].end()])
        }
        _ => String::new(),
    };
    let original = &text[bytes.clone()];
    let mut blank: String = original.chars().map(|c| if c == '\n' { '\n' } else { ' ' }).collect();
    let head = blank.find('\n').unwrap_or(blank.len());
    if stand_in.len() <= head {
        blank.replace_range(..stand_in.len(), &stand_in);
    } else {
        blank.insert_str(0, &stand_in);
    }
    (blank != original).then_some((bytes, blank))
}

/// Returns the ranges of tokens that are statements of the file, each up to its `;` or its last `}`.
fn statements(tokens: &[Token<'_>]) -> Vec<std::ops::Range<usize>> {
    const BLOCKS: &[&str] = &["fn", "if", "for", "while", "loop", "switch", "do", "private"];
    let mut found = Vec::new();
    let (mut start, mut depth) = (0, 0_usize);
    for (n, token) in tokens.iter().enumerate() {
        if ["(", "[", "{", "#{"].iter().any(|mark| token.is(mark)) {
            depth += 1;
        } else if [")", "]", "}"].iter().any(|mark| token.is(mark)) {
            depth = depth.saturating_sub(1);
        }
        let ends_block = token.is("}")
            && BLOCKS.iter().any(|word| tokens[start].is(word))
            && !tokens.get(n + 1).is_some_and(|next| next.is("else") || next.is("while"));
        if depth == 0 && (token.is(";") || ends_block) {
            found.push(start..n + 1);
            start = n + 1;
        }
    }
    if start < tokens.len() {
        found.push(start..tokens.len());
    }
    found
}
