use crate::procedure::{Kind, Program, Site, Source, Token, tokens};
use crate::quantity::Unit;

/// A call in a procedure as it is written: its file's text, and the pieces from its name to the bracket that closes it.
pub(super) struct Written<'a> {
    text: &'a str,
    pieces: Vec<Token<'a>>,
}

impl<'a> Written<'a> {
    /// Finds the call that stands at a place.
    pub(super) fn at(program: &'a Program, site: &Site) -> Option<Written<'a>> {
        let text = program.source.file(&site.file)?.text.as_str();
        let mut pieces = tokens(text);
        let first = pieces.iter().position(|t| (t.line, t.column) == (site.line, site.column))?;
        pieces.drain(..first);
        let end = close(&pieces, 1)?;
        pieces.truncate(end + 1);
        Some(Written { text, pieces })
    }

    /// Finds the first call of a word in the procedure's own file.
    pub(super) fn first(program: &'a Program, word: &str) -> Option<Written<'a>> {
        let file = program.source.files.first()?;
        let call = tokens(&file.text).into_iter().find(|token| token.is(word))?;
        Written::at(program, &Site { file: file.name.clone(), line: call.line, column: call.column })
    }

    /// Returns the place behind a key of the description.
    fn behind(&self, key: &str) -> Option<usize> {
        let at = self.pieces.windows(2).position(|pair| pair[0].is(key) && pair[1].is(":"))?;
        Some(at + 2)
    }

    /// Returns the unit of the number that stands behind a key.
    pub(super) fn unit(&self, key: &str) -> Option<&'static Unit> {
        match self.pieces.get(self.behind(key)?..)? {
            [number, point, unit, ..] if number.kind == Kind::Number && point.is(".") => {
                Unit::by_word(unit.text)
            }
            _ => None,
        }
    }

    /// Returns the description that stands behind a key, on one line, where it is made of numbers with their units only.
    pub(super) fn description(&self, key: &str) -> Option<String> {
        let first = self.behind(key)?;
        let pieces = self.pieces.get(first..=close(&self.pieces, first)?)?;
        let is_plain = |(n, token): (usize, &Token<'_>)| match token.kind {
            Kind::Number => true,
            Kind::Word => {
                pieces.get(n + 1).is_some_and(|next| next.is(":")) || Unit::by_word(token.text).is_some()
            }
            Kind::Text { .. } => false,
            Kind::Mark => ["#{", "}", ":", ",", "."].contains(&token.text),
        };
        let mut line = String::new();
        for (n, token) in pieces.iter().enumerate() {
            if !is_plain((n, token)) {
                return None;
            }
            let is_last = pieces.get(n + 1).is_none_or(|next| next.is("}"));
            line += &match token.text {
                "," if is_last => String::new(),
                "," | ":" => format!("{} ", token.text),
                "#{" => "#{ ".to_owned(),
                "}" => " }".to_owned(),
                text => text.to_owned(),
            };
        }
        Some(line)
    }

    /// Returns the comments directly above the line of a key, a line each.
    pub(super) fn comments_above(&self, key: &str) -> Vec<String> {
        let Some(line) = self.behind(key).map(|behind| self.pieces[behind - 2].line) else {
            return Vec::new();
        };
        let before: Vec<_> = self.text.lines().take(line.saturating_sub(1)).collect();
        let comments = before.iter().rev().map_while(|line| line.trim().strip_prefix("//"));
        let mut found: Vec<_> = comments.map(|comment| comment.trim().to_owned()).collect();
        found.reverse();
        found
    }

    /// Returns the lines between the braces of a test's steps, where the test hands itself to them as `t`.
    pub(super) fn steps(&self) -> Option<String> {
        let begin = self
            .pieces
            .windows(4)
            .position(|four| four[0].is("|") && four[1].is("t") && four[2].is("|") && four[3].is("{"))?
            + 3;
        let between =
            self.text.get(self.pieces[begin].end()..self.pieces[close(&self.pieces, begin)?].start)?;
        Some(match between.strip_prefix('\n') {
            // The blanks before the closing brace are no line.
            Some(lines) if lines.contains('\n') => format!("{}\n", lines.trim_end()),
            _ => format!("    {}\n", between.trim()),
        })
    }

    /// Returns whether a place lies in it.
    pub(super) fn contains(&self, site: &Site) -> bool {
        let place = |token: &Token<'_>| (token.line, token.column);
        let site = (site.line, site.column);
        self.pieces.first().is_some_and(|first| place(first) <= site)
            && self.pieces.last().is_some_and(|last| site <= place(last))
    }
}

/// Returns whether the lines of a test's steps mean by themselves what they mean in their procedure: they use no name
/// that is given outside of them.
pub(super) fn stands_alone(lines: &str) -> bool {
    let text = format!(
        "procedure(#{{ title: \"Steps\", version: \"1.0.0\" }});\n\
         let tried_alone = circuit(#{{ name: \"circuit\", limits: \"to be found\" }});\n\
         test(tried_alone, |t| {{\n{lines}}});\n"
    );
    let source = Source::from_files("steps", [("steps.rhai".to_owned(), text.into_bytes())]);
    source.is_ok_and(|source| Program::compile(source).is_ok())
}

/// Returns the place of the bracket that closes the one at a place.
fn close(pieces: &[Token<'_>], open: usize) -> Option<usize> {
    let mut depth = 0_usize;
    for (n, token) in pieces.iter().enumerate().skip(open) {
        match token.text {
            "(" | "[" | "{" | "#{" => depth += 1,
            ")" | "]" | "}" => depth = depth.checked_sub(1)?,
            _ => {}
        }
        if depth == 0 {
            return Some(n);
        }
    }
    None
}
