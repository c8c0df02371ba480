use std::cmp::Ordering;

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
    let mut found: Vec<Slip> = opening.filter_map(slip).collect();
    found.extend(twins(tokens));
    found
}

/// Finds a ( that stands twice behind a word, where one ) is missing.
fn twins<'a>(tokens: &'a [Token<'a>]) -> impl Iterator<Item = Slip> {
    let count = |mark: &str| tokens.iter().filter(|token| token.is(mark)).count();
    let n_too_many = count("(").saturating_sub(count(")"));
    let is_twin = |three: &&[Token<'_>]| {
        let is_close = three[0].end() == three[1].start && three[1].end() == three[2].start;
        three[0].kind == Kind::Word && three[1].is("(") && three[2].is("(") && is_close
    };
    tokens.windows(3).filter(is_twin).take(n_too_many).map(|three| {
        let slip = Slip::at(&three[2], "this ( is one too many", "remove it");
        slip.with(three[2].start..three[2].end(), "")
    })
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
        let surplus =
            token.is("}") && self.n_too_many > 0 && self.is_surplus(n, &self.tokens[opened], closes);
        if closes == token.text && !surplus {
            self.open.pop();
            return;
        }
        if surplus {
            self.n_too_many -= 1;
            self.remove(n, "this } is one too many");
            return;
        }
        match self.is_of_wrong_kind(n, &self.tokens[opened], closes) {
            Some(true) => {
                self.open.pop();
                let message = format!("{} is closed by {} here", self.tokens[opened].text, token.text);
                let slip = Slip::at(token, message, format!("close it with {closes}"));
                self.found.push(slip.with(token.start..token.end(), closes));
            }
            Some(false) => self.remove(n, &format!("this {} closes nothing", token.text)),
            // What is not closed at all is looked for where brackets are counted.
            None => {
                if let Some(depth) = self.open.iter().rposition(|(_, closes)| *closes == token.text) {
                    self.open.truncate(depth);
                }
            }
        }
    }

    fn remove(&mut self, n: usize, message: &str) {
        let token = &self.tokens[n];
        self.found.push(Slip::at(token, message, "remove it").with(token.start..token.end(), " "));
    }

    /// Returns whether a bracket that closes something else than what is open is of the wrong kind; not where it is one too
    /// many, and none where another one is missing.
    fn is_of_wrong_kind(&self, n: usize, opening: &Token<'_>, closes: &str) -> Option<bool> {
        let token = &self.tokens[n];
        if self.is_swapped(n, closes) && !self.is_run_of(n, self.open.len()) {
            // The one that is wanted comes next: this one does not belong here.
            return self.is_behind_its_like(n, opening).then_some(false);
        }
        if self.is_swapped(n, closes) {
            return None;
        }
        let is_open = self.open.iter().any(|(_, closes)| *closes == token.text);
        if opening.is("(") && !is_open || self.is_run_of(n, self.open.len()) {
            return Some(true);
        }
        if opening.line == token.line {
            let on_line = self.open.iter().rev().take_while(|(at, _)| self.tokens[*at].line == token.line);
            return match self.run(n).cmp(&on_line.count()) {
                Ordering::Equal => Some(true),
                Ordering::Greater => Some(false),
                Ordering::Less => None,
            };
        }
        let is_first = n.checked_sub(1).is_none_or(|before| self.tokens[before].line < token.line);
        let below = self.open.len().checked_sub(2).map(|below| self.open[below].1);
        // An entry goes on behind a comma, a block or a call does not.
        let goes_on = self.tokens.get(n + 1).is_some_and(|next| next.is(","));
        let is_missing = below == Some(token.text) && self.run(n) == 1 && !goes_on;
        if is_first && self.margin(opening) == token.column && !is_missing {
            return Some(true);
        }
        self.is_behind_its_like(n, opening).then_some(false)
    }

    /// Returns whether a } is one too many: right behind another, or right below it.
    fn is_surplus(&self, n: usize, opening: &Token<'_>, closes: &str) -> bool {
        let token = &self.tokens[n];
        let before = n.checked_sub(1).map(|before| &self.tokens[before]);
        let is_twin = before.is_some_and(|before| before.is("}") && before.end() == token.start);
        let is_wanted = closes == "}" || self.is_swapped(n, closes);
        let stands_behind = is_twin && opening.line < token.line && is_wanted;
        (stands_behind || self.is_right_below(n, opening)) && !self.is_run_of(n, self.open.len())
    }

    /// Returns whether a bracket stands behind another of its kind, and what is open began above.
    fn is_behind_its_like(&self, n: usize, opening: &Token<'_>) -> bool {
        let token = &self.tokens[n];
        let before = n.checked_sub(1).map(|before| &self.tokens[before]);
        opening.line < token.line
            && before.is_some_and(|before| before.line == token.line && before.is(token.text))
    }

    /// Returns how many brackets close something from here on, one behind the other on this line.
    fn run(&self, n: usize) -> usize {
        let line = self.tokens[n].line;
        self.tokens[n..].iter().take_while(|token| is_closing(token) && token.line == line).count()
    }

    /// Returns whether so many brackets close something from here on, and end a statement.
    fn is_run_of(&self, n: usize, n_open: usize) -> bool {
        let run = self.run(n);
        run == n_open && run > 1 && self.tokens.get(n + run).is_none_or(|next| next.is(";"))
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
