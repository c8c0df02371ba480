use super::super::tokens::{Kind, Token};
use super::Slip;
use super::open::{FAR, enclosing};

/// Finds what is wrong between a test's circuit and its steps, `test(feed, |t| {`: each of these leaves `t` unknown in
/// every step.
pub(super) fn find(tokens: &[Token<'_>]) -> Vec<Slip> {
    let finder = Finder { tokens, enclosing: enclosing(tokens) };
    let mut found = Vec::new();
    for (n, token) in tokens.iter().enumerate() {
        if finder.is_header(n) {
            found.extend(finder.before_header(n));
            found.extend(finder.behind_header(n));
        } else if token.is("{") {
            found.extend(finder.without_header(n));
        }
    }
    found
}

struct Finder<'a> {
    tokens: &'a [Token<'a>],
    enclosing: Vec<Option<usize>>,
}

impl<'a> Finder<'a> {
    fn is(&self, n: usize, mark: &str) -> bool {
        self.tokens.get(n).is_some_and(|token| token.is(mark))
    }

    /// Returns whether `|t|` begins here, with the steps behind it.
    fn is_header(&self, n: usize) -> bool {
        let named = self.tokens.get(n + 1).is_some_and(|name| name.kind == Kind::Word);
        let is_whole = self.is(n, "|") && named && self.is(n + 2, "|");
        is_whole && (self.is(n + 3, "{") || self.is_of(n, "test"))
    }

    /// Returns whether a token stands in the brackets of this word.
    fn is_of(&self, n: usize, word: &str) -> bool {
        self.enclosing[n].is_some_and(|open| self.is_called(open, word))
    }

    /// Returns whether a bracket opens behind this word.
    fn is_called(&self, open: usize, word: &str) -> bool {
        self.is(open, "(") && open > 0 && self.is(open - 1, word)
    }

    /// Looks at what stands before `|t|`.
    fn before_header(&self, n: usize) -> Option<Slip> {
        let header = &self.tokens[n];
        let last = n.checked_sub(1)?;
        let has_comma = self.is(last, ",");
        let end = if has_comma { last.checked_sub(1)? } else { last };
        if self.is(end, ")")
            && !self.is_of(n, "test")
            && self.opening(end).is_some_and(|open| self.is_called(open, "test"))
        {
            let bracket = &self.tokens[end];
            let help = "write test(feed, |t| { ... }); with this ) behind the last }";
            let slip = Slip::at(bracket, "test is closed before its steps", help);
            return Some(slip.with(bracket.start..bracket.end(), if has_comma { " " } else { "," }));
        }
        if self.is_of(n, "circuit") {
            let open = self.enclosing[n]?;
            let is_tested = self.is_of(open, "test");
            let help =
                if is_tested { "put ), before |t|" } else { "write test(circuit(#{ ... }), |t| { ... });" };
            let message = if is_tested {
                "circuit is not closed before the steps"
            } else {
                "steps stand in a test, not in a circuit"
            };
            let slip = Slip::at(header, message, help);
            let (at, with) = if has_comma { (self.tokens[last].start, ")") } else { (header.start, "), ") };
            let slip = slip.with(at..at, with);
            let word = &self.tokens[open - 1];
            return Some(if is_tested { slip } else { slip.with(word.start..word.start, "test(") });
        }
        let ends_something = match self.tokens[last].kind {
            Kind::Word => !["in", "return", "if", "while"].contains(&self.tokens[last].text),
            Kind::Number | Kind::Text { .. } => true,
            Kind::Mark => [")", "]", "}"].iter().any(|mark| self.is(last, mark)),
        };
        if !ends_something || !self.enclosing[n].is_some_and(|open| self.is(open, "(")) {
            return None;
        }
        let name = self.tokens[n + 1].text;
        let slip = Slip::at(
            header,
            format!("a comma is missing before |{name}|"),
            format!("put a comma before |{name}|"),
        );
        Some(slip.with(header.start..header.start, ", "))
    }

    /// Looks at what stands behind `|t|`.
    fn behind_header(&self, n: usize) -> Option<Slip> {
        let (name, bar) = (self.tokens[n + 1].text, &self.tokens[n + 2]);
        let arrow = if self.is(n + 3, "=>") { 1 } else { 2 };
        let is_arrow = arrow == 1 || (self.is(n + 3, "-") && self.is(n + 4, ">"));
        if is_arrow && self.is(n + 3 + arrow, "{") {
            let (first, last) = (&self.tokens[n + 3], &self.tokens[n + 2 + arrow]);
            let slip = Slip::at(
                first,
                format!("no arrow stands behind |{name}|"),
                format!("write test(feed, |{name}| {{"),
            );
            return Some(slip.with(first.start..last.end(), " "));
        }
        if self.is(n + 3, "{") || self.tokens.get(n + 3).is_none_or(|next| next.line == bar.line) {
            return None;
        }
        let slip = Slip::at(bar, format!("a {{ is missing behind |{name}|"), format!("write |{name}| {{"));
        Some(slip.with(bar.end()..bar.end(), " {"))
    }

    /// Looks for the steps of a test that begin without `|t|`.
    fn without_header(&self, n: usize) -> Option<Slip> {
        let open = self.enclosing[n].filter(|open| self.is_called(*open, "test"))?;
        let is_key = self.tokens.get(n + 1).is_some_and(|key| key.kind == Kind::Word) && self.is(n + 2, ":");
        let comma =
            (open + 1..n).rev().take(FAR).find(|at| self.is(*at, ",") && self.enclosing[*at] == Some(open));
        let begin = comma.map_or(open + 2, |comma| comma + 1).min(n);
        let between = &self.tokens[begin..n];
        if is_key || between.len() > 5 || between.windows(3).any(|w| w[0].is("|") && w[2].is("|")) {
            return None;
        }
        let name = between
            .iter()
            .rfind(|token| token.kind == Kind::Word)
            .map_or("t", |token| without_strokes(token.text));
        let brace = &self.tokens[n];
        let at = between.first().unwrap_or(brace);
        let slip = Slip::at(
            at,
            format!("the steps of a test begin with |{name}| {{"),
            format!("write test(feed, |{name}| {{"),
        );
        let comma = if comma.is_some() { "" } else { ", " };
        Some(slip.with(at.start..brace.start, format!("{comma}|{name}| ")))
    }

    /// Returns the bracket that one closes.
    fn opening(&self, closing: usize) -> Option<usize> {
        let depth = self.enclosing[closing];
        (0..closing).rev().take(FAR).find(|at| self.is(*at, "(") && self.enclosing[*at] == depth)
    }
}

/// Returns a name without the letters that look like the strokes around it, `tI` for `t|`.
fn without_strokes(name: &str) -> &str {
    let plain = name.trim_matches(['I', 'l']);
    if plain.is_empty() { name } else { plain }
}
