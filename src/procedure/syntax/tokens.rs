//! A script taken apart into words, numbers, texts and marks.

use std::ops::Range;

/// What a piece of a script is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// A name or a word of the language.
    Word,
    /// A number without its unit.
    Number,
    /// A text in quotes of any kind.
    Text { closed: bool },
    /// Anything else, one character; `#{`, `==`, `<=`, `>=`, `!=`, `=>`, `&&` and `||` are one.
    Mark,
}

/// A piece of a script; comments and blanks are left out.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Token<'a> {
    pub(crate) kind: Kind,
    /// Its text, quotes included.
    pub(crate) text: &'a str,
    /// Where it begins, in bytes.
    pub(crate) start: usize,
    pub(crate) line: usize,
    /// Its column in characters, from 1.
    pub(crate) column: usize,
}

impl Token<'_> {
    /// Where it ends, in bytes.
    pub(crate) fn end(&self) -> usize {
        self.start + self.text.len()
    }

    /// Returns whether it is this mark or word.
    pub(crate) fn is(&self, text: &str) -> bool {
        self.text == text && !matches!(self.kind, Kind::Text { .. })
    }

    /// Returns whether another begins where it ends.
    pub(super) fn touches(&self, next: &Token<'_>) -> bool {
        self.end() == next.start
    }

    /// Returns whether it is a text whose closing quote was found.
    pub(super) fn is_closed_text(&self) -> bool {
        self.kind == Kind::Text { closed: true }
    }

    /// Returns where it stands.
    pub(crate) fn position(&self) -> rhai::Position {
        position(self.line, self.column)
    }
}

/// Returns a position of the engine's, which counts no further than it can.
pub(crate) fn position(line: usize, column: usize) -> rhai::Position {
    match (u16::try_from(line), u16::try_from(column)) {
        (Ok(line), Ok(column)) if line > 0 => rhai::Position::new(line, column),
        _ => rhai::Position::NONE,
    }
}

/// Returns what closes a bracket, for one that opens.
pub(super) fn closing(token: &Token<'_>) -> Option<&'static str> {
    match token.text {
        "(" => Some(")"),
        "[" => Some("]"),
        "{" | "#{" => Some("}"),
        _ => None,
    }
}

/// Returns whether a token closes a bracket.
pub(super) fn is_closing(token: &Token<'_>) -> bool {
    matches!(token.text, ")" | "]" | "}")
}

/// Returns the brackets that are open before a token; what closes nothing is passed over.
pub(super) fn open_before(tokens: &[Token<'_>], n: usize) -> Vec<usize> {
    let mut open: Vec<usize> = Vec::new();
    for (n, token) in tokens[..n.min(tokens.len())].iter().enumerate() {
        if closing(token).is_some() {
            open.push(n);
        } else if is_closing(token) {
            let partner = open.iter().rposition(|at| closing(&tokens[*at]) == Some(token.text));
            open.truncate(partner.unwrap_or(open.len()));
        }
    }
    open
}

/// Quotes that begin a text, each with what closes it: straight ones, and those that word
/// processors put in their place.
const QUOTES: &[(char, &[char])] = &[
    ('"', &['"']),
    ('`', &['`']),
    ('\'', &['\'']),
    ('“', &['”', '"']),
    ('”', &['”', '"']),
    ('„', &['“', '”', '"']),
    ('«', &['»']),
    ('‘', &['’', '\'']),
];

/// Takes a script apart as far as its author's slips are to be found: more forgiving than the engine, which stops at
/// the first of them.
pub(crate) fn tokens(text: &str) -> Vec<Token<'_>> {
    tokens_from(text, 0, 1)
}

/// Takes a text apart again in which some bytes have been replaced by others: only the lines on which they stand. A
/// note or a text that goes on over their ends is not seen.
pub(super) fn tokens_again<'a>(
    tokens: &[Token<'a>],
    edited: &'a str,
    replaced: &Range<usize>,
    n_with: usize,
) -> Vec<Token<'a>> {
    let start = edited[..replaced.start].rfind('\n').map_or(0, |at| at + 1);
    let behind = replaced.start + n_with;
    let end = edited[behind..].find('\n').map_or(edited.len(), |at| behind + at);
    let first = tokens.partition_point(|token| token.start < start);
    let last = tokens.partition_point(|token| token.start + n_with < end + replaced.len());
    let line = tokens.get(first).or(tokens.last()).map_or(1, |token| token.line);
    let mut found = tokens[..first].to_vec();
    found.extend(tokens_from(&edited[..end], start, line));
    let moved = |token: &Token<'a>| Token { start: token.start + n_with - replaced.len(), ..*token };
    found.extend(tokens[last..].iter().map(moved));
    found
}

/// Takes a text apart from the beginning of a line on.
fn tokens_from(text: &str, mut at: usize, mut line: usize) -> Vec<Token<'_>> {
    let mut found = Vec::new();
    let mut column = 1;
    while let Some(first) = text[at..].chars().next() {
        let rest = &text[at..];
        let quote = QUOTES.iter().find(|(open, _)| *open == first);
        let (kind, length) = match first {
            '/' if rest.starts_with("//") => (None, rest.find('\n').unwrap_or(rest.len())),
            '/' if rest.starts_with("/*") => (None, rest.find("*/").map_or(rest.len(), |end| end + 2)),
            c if c.is_whitespace() && c != '\u{A0}' => (None, c.len_utf8()),
            c if c.is_ascii_digit() => (Some(Kind::Number), number_length(rest)),
            c if c.is_alphabetic() || c == '_' => {
                let end = rest.find(|c: char| !c.is_alphanumeric() && c != '_');
                (Some(Kind::Word), end.unwrap_or(rest.len()))
            }
            c => match quote {
                Some((_, closing)) => quoted(rest, closing, c != '`'),
                None => {
                    let pair = ["#{", "==", "<=", ">=", "!=", "=>", "&&", "||"];
                    let is_pair = pair.iter().any(|pair| rest.starts_with(pair));
                    (Some(Kind::Mark), if is_pair { 2 } else { c.len_utf8() })
                }
            },
        };
        let passed = &rest[..length];
        found.extend(kind.map(|kind| Token { kind, text: passed, start: at, line, column }));
        at += length;
        line += passed.matches('\n').count();
        column = match passed.rfind('\n') {
            Some(last) => passed[last..].chars().count(),
            None => column + passed.chars().count(),
        };
    }
    found
}

/// Measures a text in quotes; one that must close on its line ends there where it does not.
fn quoted(rest: &str, closing: &[char], on_one_line: bool) -> (Option<Kind>, usize) {
    let mut escaped = false;
    for (at, c) in rest.char_indices().skip(1) {
        if c == '\n' && on_one_line && !escaped {
            return (Some(Kind::Text { closed: false }), at);
        }
        if closing.contains(&c) && !escaped {
            return (Some(Kind::Text { closed: true }), at + c.len_utf8());
        }
        escaped = c == '\\' && !escaped;
    }
    (Some(Kind::Text { closed: false }), rest.len())
}

/// Measures a number: digits, and decimals where a digit follows the point.
fn number_length(rest: &str) -> usize {
    let digits = |text: &str| text.find(|c: char| !c.is_ascii_digit() && c != '_').unwrap_or(text.len());
    let whole = digits(rest);
    let decimals =
        rest[whole..].strip_prefix('.').filter(|rest| rest.starts_with(|c: char| c.is_ascii_digit()));
    whole + decimals.map_or(0, |decimals| 1 + digits(decimals))
}
