use super::super::tokens::{Kind, Token};
use super::Slip;

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
    let mut finder = Finder { tokens, open: Vec::new(), found: Vec::new(), looks_left: false };
    if finder.is_balanced() {
        return finder.found;
    }
    // Something is left open or closed too often; what stands at the left edge tells how far that may reach.
    let mut finder = Finder { tokens, open: Vec::new(), found: Vec::new(), looks_left: true };
    finder.is_balanced();
    finder.found
}

struct Finder<'a> {
    tokens: &'a [Token<'a>],
    open: Vec<Open<'a>>,
    found: Vec<Slip>,
    /// Whether a statement at the left edge ends everything before it.
    looks_left: bool,
}

impl<'a> Finder<'a> {
    /// Goes through all tokens; returns whether every bracket has its partner.
    fn is_balanced(&mut self) -> bool {
        let mut n_mended = 0;
        for n in 0..self.tokens.len() {
            n_mended += self.step(n);
        }
        let is_balanced = self.open.is_empty() && n_mended == 0;
        self.forget(self.tokens.len());
        is_balanced
    }

    /// Takes a token; returns how many brackets had to be mended.
    fn step(&mut self, n: usize) -> usize {
        let token = &self.tokens[n];
        if self.looks_left && token.column == 1 && BEGINNERS.iter().any(|word| token.is(word)) {
            self.forget(n);
        }
        let n_found = self.found.len();
        if let Some(closing) = closing(token) {
            self.opened(n, closing);
        } else if ["}", ")", "]"].iter().any(|mark| token.is(mark)) {
            self.closed(n);
            return self.found.len() - n_found;
        } else if token.is("=") {
            self.equals(n);
        } else if token.is(";") {
            self.semicolon(n);
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
        match self.open.pop() {
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
        let Some(last) = n.checked_sub(1).map(|last| &self.tokens[last]) else { return };
        let Some(outermost) = self.open.first().map(|open| open.token) else { return };
        let closers: String = self.open.drain(..).rev().map(|open| open.closing).collect();
        let slip = never_closed(outermost, &closers);
        self.found.push(slip.with(last.end()..last.end(), format!("{closers};")));
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
        if inside {
            let slip = Slip::at(token, "a semicolon can't stand inside brackets", "write a comma");
            self.found.push(slip.with(token.start..token.end(), ","));
        }
    }

    /// Looks for the comma before an entry that begins on a line of its own.
    fn entry(&mut self, n: usize) {
        let Some(before) = n.checked_sub(1).map(|before| &self.tokens[before]) else { return };
        let token = &self.tokens[n];
        let is_separated = before.is(",") || before.is("#{") || before.is("{") || before.is(";");
        if token.line > before.line && self.is_key(n) && !is_separated {
            let slip = Slip::at(before, "a comma is missing behind this", "put a comma behind each entry");
            self.found.push(slip.with(before.end()..before.end(), ","));
        }
        if [">", "<", ">=", "<="].iter().any(|mark| token.is(mark)) && before.is(":") {
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

fn closing(token: &Token<'_>) -> Option<&'static str> {
    [("(", ")"), ("[", "]"), ("{", "}"), ("#{", "}")]
        .into_iter()
        .find(|(open, _)| token.is(open))
        .map(|(_, closing)| closing)
}

fn never_closed(token: &Token<'_>, closing: &str) -> Slip {
    Slip::at(
        token,
        format!("this {} is never closed", token.text),
        format!("close it with {closing} where it ends"),
    )
}
