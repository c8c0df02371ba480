use super::super::tokens::{Kind, Token};
use super::super::{Sort, Stands, VOCABULARY};
use super::Slip;
use super::open::{closing, is_closing, too_many};

/// Finds brackets that open something and are of the wrong kind, where what stands before them tells which was meant.
pub(super) fn find_opening(tokens: &[Token<'_>]) -> Vec<Slip> {
    let opening = (0..tokens.len()).filter(|n| closing(&tokens[*n]).is_some());
    let slip = |n| {
        let (token, (meant, help)) = (&tokens[n], meant(tokens, n)?);
        let slip = Slip::at(token, format!("{meant} stands here, not {}", token.text), help);
        Some(slip.with(token.start..token.end(), meant))
    };
    opening.filter_map(slip).collect()
}

/// Returns the bracket that was meant in place of another, and what to write.
fn meant(tokens: &[Token<'_>], n: usize) -> Option<(&'static str, String)> {
    let (token, before) = (&tokens[n], &tokens[n.checked_sub(1)?]);
    if token.is("#{") {
        return None;
    }
    let is_word = |word: &super::super::Word| before.is(word.name) && word.stands != Stands::Inside;
    if !token.is("(") && before.end() == token.start && VOCABULARY.iter().any(is_word) {
        return Some(("(", format!("write {}(...)", before.text)));
    }
    let header = n.checked_sub(3).map(|first| &tokens[first]);
    if !token.is("{") && before.is("|") && header.is_some_and(|first| first.is("|")) {
        return Some(("{", format!("write |{}| {{", tokens[n - 2].text)));
    }
    let next = tokens.get(n + 1)?;
    let key = n.checked_sub(2).map(|at| &tokens[at])?;
    let is_entry = matches!(next.kind, Kind::Text { .. }) || next.is("#{");
    if !token.is("[") && before.is(":") && is_entry && takes_list(key.text) {
        return Some(("[", format!("write {}: [...]", key.text)));
    }
    None
}

/// Finds brackets that close something and are of the wrong kind, and one that closes twice.
pub(super) fn find_closing(tokens: &[Token<'_>]) -> Vec<Slip> {
    let n_too_many = too_many(tokens);
    let mut finder = Finder { tokens, open: Vec::new(), found: Vec::new(), n_too_many };
    for (n, token) in tokens.iter().enumerate() {
        if let Some(closes) = closing(token) {
            finder.open.push((n, closes));
        } else if is_closing(token) {
            finder.closed(n);
        }
    }
    finder.found
}

struct Finder<'a> {
    tokens: &'a [Token<'a>],
    /// What is open: where, and what closes it.
    open: Vec<(usize, &'static str)>,
    found: Vec<Slip>,
    /// How many more } there are than blocks and descriptions for them to close.
    n_too_many: usize,
}

impl Finder<'_> {
    fn closed(&mut self, n: usize) {
        let token = &self.tokens[n];
        let Some((opened, closes)) = self.open.last().copied() else { return };
        let opening = &self.tokens[opened];
        let before = n.checked_sub(1).map(|before| &self.tokens[before]);
        let is_first = before.is_none_or(|before| before.line < token.line);
        let is_twin = before.is_some_and(|before| before.is(token.text) && before.end() == token.start);
        let is_surplus = token.is("}")
            && self.n_too_many > 0
            && (is_twin && opening.line < token.line || self.is_right_below(n, opening));
        if closes == token.text && !is_surplus {
            self.open.pop();
            return;
        }
        if is_surplus {
            self.n_too_many -= 1;
            let slip = Slip::at(token, "this } is one too many", "remove it");
            self.found.push(slip.with(token.start..token.end(), " "));
            return;
        }
        let mut on_line = self.open.iter().rev().take_while(|(at, _)| self.tokens[*at].line == token.line);
        let ends_line = opening.line == token.line && !on_line.any(|(_, closes)| *closes == token.text);
        let below = self.open.len().checked_sub(2).map(|below| self.open[below].1);
        let closes_more =
            self.tokens.get(n + 1).is_some_and(|next| is_closing(next) && next.line == token.line);
        let is_missing = below == Some(token.text) && !closes_more;
        let ends_block =
            is_first && self.margin(opening) == token.column && !is_missing && !self.is_swapped(n, closes);
        let is_alone = opening.is("(") && !self.open.iter().any(|(_, closes)| *closes == token.text);
        if ends_line || ends_block || is_alone {
            self.open.pop();
            let message = format!("{} is closed by {} here", opening.text, token.text);
            let slip = Slip::at(token, message, format!("close it with {closes}"));
            self.found.push(slip.with(token.start..token.end(), closes));
            return;
        }
        if !is_first && opening.line < token.line && before.is_some_and(|before| before.is(token.text)) {
            let slip = Slip::at(token, format!("this {} closes nothing", token.text), "remove it");
            self.found.push(slip.with(token.start..token.end(), " "));
            return;
        }
        // What is not closed at all is looked for where brackets are counted.
        if let Some(depth) = self.open.iter().rposition(|(_, closes)| *closes == token.text) {
            self.open.truncate(depth);
        }
    }

    /// Returns whether a } stands alone on its line, right below another as far in: that one has closed what stands so far in
    /// already.
    fn is_right_below(&self, n: usize, opening: &Token<'_>) -> bool {
        let token = &self.tokens[n];
        let above = n.checked_sub(1).map(|at| &self.tokens[at]);
        let is_last = self.tokens.get(n + 1).is_none_or(|next| next.line > token.line);
        let is_twin = |above: &Token<'_>| {
            above.is("}")
                && above.line < token.line
                && above.column == token.column
                && self.margin(above) == above.column
        };
        is_last && self.margin(opening) < token.column && above.is_some_and(is_twin)
    }

    /// Returns whether the bracket that is wanted here comes next, as in `)};`.
    fn is_swapped(&self, n: usize, closes: &str) -> bool {
        self.tokens.get(n + 1).is_some_and(|next| next.is(closes) && next.line == self.tokens[n].line)
    }

    /// Returns the column of the first token on a token's line.
    fn margin(&self, token: &Token<'_>) -> usize {
        let first = self.tokens.partition_point(|other| other.line < token.line);
        self.tokens.get(first).map_or(token.column, |first| first.column)
    }
}

/// Returns whether a list stands behind this key of a description.
fn takes_list(key: &str) -> bool {
    let keys = VOCABULARY.iter().flat_map(|word| word.keys);
    keys.into_iter().any(|known| known.name == key && matches!(known.sort, Sort::List(_)))
}
