/// What a piece of a script is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// A name or a word of the language.
    Word,
    /// A number without its unit.
    Number,
    /// A text in quotes of any kind.
    Text {
        /// Whether its closing quote was found.
        closed: bool,
    },
    /// Anything else, one character; `#{`, `==`, `<=`, `>=`, `!=`, `=>`, `&&` and `||` are one.
    Mark,
}

/// A piece of a script; comments and blanks are left out.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Token<'a> {
    /// What it is.
    pub(crate) kind: Kind,
    /// Its text, quotes included.
    pub(crate) text: &'a str,
    /// Where it begins, in bytes.
    pub(crate) start: usize,
    /// Its line, from 1.
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

/// Quotes that word processors put in place of the straight one, each with the one that closes it.
const CURLY: &[(char, &[char])] =
    &[('“', &['”', '"']), ('”', &['”', '"']), ('„', &['“', '”', '"']), ('«', &['»']), ('‘', &['’', '\''])];

/// Takes a script apart as far as its author's slips are to be found: more forgiving than the engine, which stops at
/// the first of them.
pub(crate) fn tokens(text: &str) -> Vec<Token<'_>> {
    let mut found = Vec::new();
    let (mut line, mut line_start) = (1, 0);
    // Characters counted so far, so that a long line is not counted again for each of its tokens.
    let (mut counted, mut characters) = (0, 0);
    let mut at = 0;
    while let Some(first) = text[at..].chars().next() {
        let rest = &text[at..];
        let (kind, length) = match first {
            '/' if rest.starts_with("//") => {
                at += rest.find('\n').unwrap_or(rest.len());
                continue;
            }
            '/' if rest.starts_with("/*") => {
                let length = rest.find("*/").map_or(rest.len(), |end| end + 2);
                line += rest[..length].matches('\n').count();
                line_start = rest[..length].rfind('\n').map_or(line_start, |last| at + last + 1);
                at += length;
                continue;
            }
            '\n' => {
                at += 1;
                (line, line_start) = (line + 1, at);
                continue;
            }
            c if c.is_whitespace() && c != '\u{A0}' => {
                at += c.len_utf8();
                continue;
            }
            '"' => quoted(rest, &['"'], true),
            '`' => quoted(rest, &['`'], false),
            '\'' => quoted(rest, &['\''], true),
            c if CURLY.iter().any(|(open, _)| *open == c) => {
                let closing =
                    CURLY.iter().find(|(open, _)| *open == c).map_or(&[][..], |(_, closing)| closing);
                quoted(rest, closing, true)
            }
            c if c.is_ascii_digit() => (Kind::Number, number_length(rest)),
            c if c.is_alphabetic() || c == '_' => {
                (Kind::Word, rest.find(|c: char| !c.is_alphanumeric() && c != '_').unwrap_or(rest.len()))
            }
            c => {
                let pair = ["#{", "==", "<=", ">=", "!=", "=>", "&&", "||"];
                (Kind::Mark, if pair.iter().any(|pair| rest.starts_with(pair)) { 2 } else { c.len_utf8() })
            }
        };
        if counted < line_start {
            (counted, characters) = (line_start, 0);
        }
        characters += text[counted..at].chars().count();
        counted = at;
        let column = characters + 1;
        let token = &rest[..length];
        found.push(Token { kind, text: token, start: at, line, column });
        line += token.matches('\n').count();
        line_start = token.rfind('\n').map_or(line_start, |last| at + last + 1);
        at += length;
    }
    found
}

/// Measures a text in quotes; one that must close on its line ends there where it does not.
fn quoted(rest: &str, closing: &[char], on_one_line: bool) -> (Kind, usize) {
    let mut escaped = false;
    for (at, c) in rest.char_indices().skip(1) {
        let carried_on = c == '\n' && escaped;
        if c == '\n' && on_one_line && !carried_on {
            return (Kind::Text { closed: false }, at);
        }
        if closing.contains(&c) && !escaped {
            return (Kind::Text { closed: true }, at + c.len_utf8());
        }
        escaped = c == '\\' && !escaped;
    }
    (Kind::Text { closed: false }, rest.len())
}

/// Measures a number: digits, and decimals where a digit follows the point.
fn number_length(rest: &str) -> usize {
    let digits = |text: &str| text.find(|c: char| !c.is_ascii_digit() && c != '_').unwrap_or(text.len());
    let whole = digits(rest);
    match rest[whole..].strip_prefix('.') {
        Some(decimals) if decimals.starts_with(|c: char| c.is_ascii_digit()) => whole + 1 + digits(decimals),
        _ => whole,
    }
}

#[cfg(test)]
mod tests {
    use super::{Kind, tokens};

    #[test]
    fn a_quantity_is_a_number_a_point_and_a_unit() {
        let found: Vec<_> =
            tokens("holds: 12.7.mm, // not \"this\"").iter().map(|token| token.text).collect();
        assert_eq!(found, ["holds", ":", "12.7", ".", "mm", ","]);
    }

    #[test]
    fn lines_and_columns_are_counted_in_characters_from_one() {
        let found = tokens("say(\"µ\");\n  ready(\"x\")");
        let place = |n: usize| (found[n].text, found[n].line, found[n].column);
        assert_eq!(place(3), (")", 1, 8));
        assert_eq!(place(5), ("ready", 2, 3));
    }

    #[test]
    fn a_text_that_is_not_closed_ends_with_its_line() {
        let found = tokens("say(\"open);\nsay(\"b\");");
        assert_eq!(found[2].kind, Kind::Text { closed: false });
        assert_eq!(found[2].text, "\"open);");
        assert_eq!(found[3].text, "say");
    }

    #[test]
    fn curly_quotes_open_and_close_a_text() {
        let found = tokens("say(“hello”);");
        assert_eq!(found[2].text, "“hello”");
    }
}
