use super::super::tokens::{Kind, Token};
use super::Slip;
use super::open::{FAR, closing, is_closing};

/// Words that begin a statement at the left edge of a procedure: where one stands there, whatever was open before has
/// been forgotten.
const BEGINNERS: &[&str] = &[
    "procedure",
    "let",
    "const",
    "circuit",
    "test",
    "section",
    "say",
    "caution",
    "ready",
    "finding",
    "fn",
    "for",
    "if",
    "import",
    "while",
    "loop",
    "calibrate",
    "wait",
];

/// Something that is open.
struct Open<'a> {
    token: &'a Token<'a>,
    closing: &'static str,
    is_description: bool,
}

/// Finds brackets that do not match, descriptions without their `#`, and what stands between their entries.
pub(super) fn find(tokens: &[Token<'_>]) -> Vec<Slip> {
    let mut finder = Finder { tokens, open: Vec::new(), found: Vec::new(), looks_left: false, n_left: 0 };
    if finder.is_balanced() {
        return finder.found;
    }
    // Something is left open or closed too often; what stands at the left edge tells how far that may reach.
    let mut finder = Finder { tokens, open: Vec::new(), found: Vec::new(), looks_left: true, n_left: 0 };
    finder.is_balanced();
    finder.found
}

struct Finder<'a> {
    tokens: &'a [Token<'a>],
    open: Vec<Open<'a>>,
    found: Vec<Slip>,
    /// Whether a statement at the left edge ends everything before it.
    looks_left: bool,
    /// How often something had to be closed that its author had left open.
    n_left: usize,
}

impl<'a> Finder<'a> {
    /// Goes through all tokens; returns whether every bracket has its partner.
    fn is_balanced(&mut self) -> bool {
        let mut n_mended = 0;
        for n in 0..self.tokens.len() {
            n_mended += self.step(n);
        }
        let is_balanced = self.open.is_empty() && n_mended == 0 && self.n_left == 0;
        self.forget(self.tokens.len());
        is_balanced
    }

    /// Takes a token; returns how many brackets had to be mended.
    fn step(&mut self, n: usize) -> usize {
        let token = &self.tokens[n];
        if self.looks_left && token.column == 1 && BEGINNERS.iter().any(|word| token.is(word)) {
            self.forget(n);
        }
        self.begins(n);
        let n_found = self.found.len();
        if let Some(closing) = closing(token) {
            self.opened(n, closing);
        } else if is_closing(token) {
            self.closed(n);
            return self.found.len() - n_found;
        } else if token.is("=") {
            self.equals(n);
        } else if token.is(";") {
            self.semicolon(n);
        } else if token.is(".") {
            self.point(n);
        } else if (token.is(":") || token.is(","))
            && self.open.last().is_none_or(|open| open.closing == "}" && !open.is_description)
        {
            self.ends_wrongly(n);
        } else if self.in_description() {
            self.entry(n);
        }
        0
    }

    fn opened(&mut self, n: usize, closing: &'static str) {
        let token = &self.tokens[n];
        let before = n.checked_sub(1).map(|before| &self.tokens[before]);
        let holds_entries = self.is_key(n + 1);
        let mut is_description = token.is("#{");
        if token.is("{")
            && holds_entries
            && before.is_some_and(|b| ["(", ":", "[", ","].iter().any(|m| b.is(m)))
        {
            let slip = Slip::at(token, "a description begins with #{", "write #{ instead of {");
            self.found.push(slip.with(token.start..token.end(), "#{"));
            is_description = true;
        }
        if token.is("(") && holds_entries && self.tokens.get(n + 2).is_some_and(|after| after.is(":")) {
            let slip = Slip::at(token, "a description stands between #{ and }", "write (#{ name: \"...\" })");
            self.found.push(slip);
        }
        self.open.push(Open { token, closing, is_description });
    }

    /// Returns whether a key of a description stands here.
    fn is_key(&self, n: usize) -> bool {
        matches!((self.tokens.get(n), self.tokens.get(n + 1)), (Some(key), Some(colon))
            if matches!(key.kind, Kind::Word) && colon.is(":"))
    }

    fn closed(&mut self, n: usize) {
        let token = &self.tokens[n];
        self.leave_to_its_line(n);
        let is_open = self.open.iter().rev().take(FAR).any(|open| open.closing == token.text);
        match self.open.pop() {
            Some(open) if token.is("]") && !is_open => {
                self.open.push(open);
                self.found.push(self.never_opened(n));
            }
            None => {
                let help = "remove it, or look for what should have opened above";
                let slip = Slip::at(token, format!("this {} closes nothing", token.text), help);
                self.found.push(slip.with(token.start..token.end(), " "));
            }
            Some(open) if open.closing == token.text => {}
            Some(open) if self.open.last().is_some_and(|below| below.closing == token.text) => {
                self.open.pop();
                let slip = never_closed(open.token, open.closing);
                self.found.push(slip.with(token.start..token.start, open.closing));
            }
            Some(open) => {
                let message = format!("{} is closed by {} here", open.token.text, token.text);
                let slip = Slip::at(token, message, format!("close it with {}", open.closing));
                self.found.push(slip.with(token.start..token.end(), open.closing));
            }
        }
    }

    /// Closes everything that is open before a token, and says that its author did not.
    fn forget(&mut self, n: usize) {
        self.close_down_to(0, n, ";");
    }

    /// Closes what is open above a depth, behind the token before this one, and says that its author did not.
    fn close_down_to(&mut self, depth: usize, n: usize, ending: &str) {
        let Some(last) = n.checked_sub(1).map(|last| &self.tokens[last]) else { return };
        let Some(outermost) = self.open.get(depth).map(|open| open.token) else { return };
        self.n_left += 1;
        let closers: String = self.open.drain(depth..).rev().map(|open| open.closing).collect();
        let slip = never_closed(outermost, &closers);
        let bytes = if last.is(",") { last.start..last.end() } else { last.end()..last.end() };
        self.found.push(slip.with(bytes, format!("{closers}{ending}")));
    }

    /// Returns how many brackets are open around the innermost block, that included.
    fn block_depth(&self) -> usize {
        let is_block = |open: &Open<'_>| open.closing == "}" && !open.is_description;
        let above = self.open.iter().rev().take(FAR).position(is_block);
        above.map_or(0, |above| self.open.len() - above)
    }

    /// Looks whether a token that begins a line shows that something above it was not closed.
    fn begins(&mut self, n: usize) {
        let Some(before) = n.checked_sub(1).map(|before| &self.tokens[before]) else { return };
        let token = &self.tokens[n];
        if token.line == before.line || self.open.len() <= self.block_depth() {
            return;
        }
        // A description begins behind a key, or is an entry of a list.
        let is_entry = token.is("#{") && self.in_description() && !before.is(":");
        let in_list = self.open.len().checked_sub(2).is_some_and(|below| self.open[below].closing == "]");
        if is_entry && in_list {
            self.close_down_to(self.open.len() - 1, n, ",");
            return;
        }
        // No entry of a list has a key.
        if self.open.last().is_some_and(|open| open.closing == "]") && self.is_key(n) {
            self.close_down_to(self.open.len() - 1, n, ",");
        } else if self.begins_statement(n) {
            self.close_down_to(self.block_depth(), n, ";");
        }
    }

    /// Returns whether a token at the beginning of a line can only begin a statement, or most likely does.
    fn begins_statement(&self, n: usize) -> bool {
        let (token, before) = (&self.tokens[n], &self.tokens[n - 1]);
        if ["let", "const", "for", "while", "loop", "fn", "import"].iter().any(|word| token.is(word)) {
            return !self.is_key(n);
        }
        let goes_on = before.kind == Kind::Mark && !is_closing(before);
        let after = |mark: &str| self.tokens.get(n + 1).is_some_and(|after| after.is(mark));
        token.kind == Kind::Word && !goes_on && (token.is("if") || after(".") || after("("))
    }

    /// Closes what was left open inside something that ends here, at the beginning of a line that stands as far in as the
    /// one on which it began.
    fn leave_to_its_line(&mut self, n: usize) {
        if !self.looks_left {
            return;
        }
        let token = &self.tokens[n];
        let is_first = n.checked_sub(1).is_none_or(|before| self.tokens[before].line < token.line);
        let Some(above) = self.open.last().filter(|_| is_first) else { return };
        if self.margin(above.token) <= token.column {
            return;
        }
        let fits = |open: &Open<'_>| self.margin(open.token) == token.column && open.closing == token.text;
        let Some(above) = self.open.iter().rev().take(FAR).position(fits) else { return };
        let depth = self.open.len() - 1 - above;
        let left = depth + 1;
        let margin = self.margin(self.open[left].token);
        let opened = self.open[left].token.line;
        // It ended before the first line that stands no further in than its own.
        let below = self.tokens.partition_point(|other| other.line <= opened);
        let end = (below..n).find(|at| self.margin(&self.tokens[*at]) <= margin);
        let is_description = self.open[depth].is_description;
        let ending = if is_description && end.is_some() { "," } else { "" };
        self.close_down_to(left, end.unwrap_or(n), ending);
    }

    /// Returns the column of the first token on a token's line.
    fn margin(&self, token: &Token<'_>) -> usize {
        let first = self.tokens.partition_point(|other| other.line < token.line);
        self.tokens.get(first).map_or(token.column, |first| first.column)
    }

    /// Explains a `]` that no `[` goes with; a list that begins behind a colon on the same line is most likely meant.
    fn never_opened(&self, n: usize) -> Slip {
        let token = &self.tokens[n];
        let mut depth = 0_usize;
        let mut begins = None;
        // Behind the colon of its key, or behind the first thing that a word takes.
        for other in self.tokens[..n].iter().rev().take(FAR) {
            if is_closing(other) {
                depth += 1;
            } else if closing(other).is_some() {
                let Some(less) = depth.checked_sub(1) else { break };
                depth = less;
            } else if depth == 0 && (other.is(":") || other.is(",")) {
                begins = Some(other);
                if other.is(":") {
                    break;
                }
            } else if depth == 0 && other.is(";") {
                break;
            }
        }
        let message = "this ] closes nothing";
        match begins {
            Some(mark) => {
                let slip = Slip::at(token, message, "put a [ before the first of the list");
                slip.with(mark.end()..mark.end(), " [")
            }
            None => {
                let slip = Slip::at(token, message, "remove it, or look for what should have opened above");
                slip.with(token.start..token.end(), " ")
            }
        }
    }

    fn equals(&mut self, n: usize) {
        let token = &self.tokens[n];
        let before = n.checked_sub(1).map(|before| &self.tokens[before]);
        if self.in_description() && before.is_some_and(|before| before.kind == Kind::Word) {
            let slip = Slip::at(token, "a colon stands between a key and its value", "write : instead of =");
            self.found.push(slip.with(token.start..token.end(), ":"));
        } else if self.in_condition(n) {
            let slip =
                Slip::at(token, "= gives a name to something, it does not compare", "write == to compare");
            self.found.push(slip.with(token.start..token.end(), "=="));
        }
    }

    fn semicolon(&mut self, n: usize) {
        let token = &self.tokens[n];
        let inside = self.open.last().is_some_and(|open| open.is_description || open.closing != "}");
        if inside && self.ends_statement(n) {
            self.close_down_to(self.block_depth(), n, "");
        } else if inside {
            let slip = Slip::at(token, "a semicolon can't stand inside brackets", "write a comma");
            self.found.push(slip.with(token.start..token.end(), ","));
        }
    }

    /// An entry that ends with a point.
    fn point(&mut self, n: usize) {
        let token = &self.tokens[n];
        let is_inside = self.open.last().is_some_and(|open| open.is_description || open.closing == "]");
        if is_inside && self.tokens.get(n + 1).is_some_and(|next| next.line > token.line) {
            let slip = Slip::at(token, "an entry ends with a comma", "write , instead of .");
            self.found.push(slip.with(token.start..token.end(), ","));
        }
    }

    /// A statement that ends with a colon or a comma.
    fn ends_wrongly(&mut self, n: usize) {
        let token = &self.tokens[n];
        let is_behind = n.checked_sub(1).is_some_and(|at| self.tokens[at].is(")"));
        if is_behind && self.tokens.get(n + 1).is_none_or(|next| next.line > token.line) {
            let message = format!("a statement does not end with {}", token.text);
            let slip = Slip::at(token, message, "write ; instead");
            self.found.push(slip.with(token.start..token.end(), ";"));
        }
    }

    /// Returns whether a semicolon inside brackets ends a statement whose brackets were forgotten: another statement
    /// follows on a line below, or nothing.
    fn ends_statement(&self, n: usize) -> bool {
        let (token, Some(next)) = (&self.tokens[n], self.tokens.get(n + 1)) else { return true };
        let in_description = self.in_description();
        let closes = is_closing(next)
            && !in_description
            && !self.open.last().is_some_and(|open| next.is(open.closing));
        closes || (next.line > token.line && next.kind == Kind::Word && !self.is_key(n + 1))
    }

    /// Looks for the comma before an entry that begins on a line of its own.
    fn entry(&mut self, n: usize) {
        let Some(before) = n.checked_sub(1).map(|before| &self.tokens[before]) else { return };
        let token = &self.tokens[n];
        let is_separated =
            before.is(".") || before.is(",") || before.is("#{") || before.is("{") || before.is(";");
        if token.line > before.line && self.is_key(n) && !is_separated {
            let slip = Slip::at(before, "a comma is missing behind this", "put a comma behind each entry");
            self.found.push(slip.with(before.end()..before.end(), ","));
        }
        if [">", "<", ">=", "<=", "~"].iter().any(|mark| token.is(mark)) && before.is(":") {
            let slip =
                Slip::at(token, "a limit is a quantity alone", "write it without a sign, as in 20.inHg");
            self.found.push(slip.with(token.start..token.end(), " "));
        }
    }

    fn in_description(&self) -> bool {
        self.open.last().is_some_and(|open| open.is_description)
    }

    /// Returns whether a token stands between `if` or `while` and the `{` of the same line.
    fn in_condition(&self, n: usize) -> bool {
        let line = self.tokens[n].line;
        let before = self.tokens[..n].iter().rev().take_while(|token| token.line == line);
        for token in before {
            if token.is("if") || token.is("while") {
                return true;
            }
            if token.is("{") || token.is("}") || token.is(";") || token.is("let") {
                return false;
            }
        }
        false
    }
}

fn never_closed(token: &Token<'_>, closing: &str) -> Slip {
    Slip::at(
        token,
        format!("this {} is never closed", token.text),
        format!("close it with {closing} where it ends"),
    )
}
