//! The edits that might mend a text where the engine stops, each with how unlikely it is.

use std::ops::Range;

use rhai::ParseErrorType;

use super::lexicon::{Lexicon, is_a, keywords};
use super::parse_errors::is_barred;
use super::patterns::{LONGEST_RUN, Match, RULES};
use super::tokens::{Kind, Token, closing, is_closing, open_before};

/// Marks that may be missing, or stand where another does.
const MARKS: &[&str] =
    &[",", ";", ":", ".", "=", "(", ")", "{", "}", "[", "]", "|", "+", "#{", "==", "<", ">", "!", "&&"];
/// Marks that are easily taken for one another.
const ALIKE: &[&[&str]] =
    &[&[",", ";", ".", ":"], &["(", "[", "{", "#{"], &[")", "]", "}"], &["=", ":"], &["=", "=="]];
/// How far before the place where the engine stops a slip is looked for, in tokens.
const BEFORE: usize = 4;
/// How far before it a bracket is looked for.
const FAR: usize = 120;
/// How many brackets that are open are looked at, and at how many line ends one may be missing.
const MOST: (usize, usize) = (5, 60);

/// An edit that might mend a text: how unlikely it is, before what the text looks like with it, and what is said of it.
pub(super) struct Guess {
    pub(super) bytes: Range<usize>,
    pub(super) with: String,
    pub(super) price: usize,
    pub(super) reason: Reason,
}

/// What is to be said of an edit.
pub(super) enum Reason {
    /// What the edit does.
    Edit,
    /// What a row of the table says.
    Rule(Match),
    /// This, of what stands at a byte of the text.
    Said { at: usize, message: &'static str, help: String },
}

/// A text that can't be parsed, or makes no sense: the token at which the engine stopped, or the first word that means
/// nothing.
pub(super) struct Stuck<'t> {
    pub(super) text: &'t str,
    pub(super) tokens: &'t [Token<'t>],
    pub(super) lexicon: &'t Lexicon,
    pub(super) stop: usize,
    pub(super) error: Option<&'t ParseErrorType>,
    /// How many lines of the file stand before it.
    pub(super) lines_before: usize,
}

struct Guesses<'s, 't> {
    stuck: &'s Stuck<'t>,
    tokens: &'t [Token<'t>],
    stop: usize,
    found: Vec<Guess>,
}

impl<'t> Stuck<'t> {
    /// Returns every edit worth trying.
    pub(super) fn guesses(&self) -> Vec<Guess> {
        let mut guesses = Guesses { stuck: self, tokens: self.tokens, stop: self.stop, found: Vec::new() };
        guesses.rules();
        if !self.error.is_some_and(is_barred) {
            guesses.marks();
            guesses.words();
            guesses.brackets();
            guesses.quotes();
        }
        guesses.found.retain(|guess| self.text[guess.bytes.clone()] != guess.with);
        guesses.found
    }

    /// Returns an edit of something that can't be meant, wherever it stands.
    pub(super) fn sure(&self) -> Option<Guess> {
        let sure = || RULES.iter().filter(|rule| rule.is_sure);
        let at = |n: usize| sure().find_map(|rule| rule.at(self.tokens, n, self.lexicon));
        self.by_rule((0..self.tokens.len()).find_map(at)?)
    }

    fn by_rule(&self, matched: Match) -> Option<Guess> {
        let (with, price) = (matched.write(self.text, self.tokens)?, matched.price());
        Some(Guess { bytes: matched.bytes(self.tokens)?, with, price, reason: Reason::Rule(matched) })
    }
}

impl Guesses<'_, '_> {
    fn put(&mut self, bytes: Range<usize>, with: &str, price: usize) {
        self.found.push(Guess { bytes, with: with.to_owned(), price, reason: Reason::Edit });
    }

    fn said(
        &mut self,
        bytes: Range<usize>,
        with: &str,
        price: usize,
        at: usize,
        message: &'static str,
        help: &str,
    ) {
        let reason = Reason::Said { at, message, help: help.to_owned() };
        self.found.push(Guess { bytes, with: with.to_owned(), price, reason });
    }

    fn delete(&mut self, n: usize, price: usize) {
        self.replace(n..n + 1, "", price);
    }

    fn replace(&mut self, tokens: Range<usize>, with: &str, price: usize) {
        self.put(self.tokens[tokens.start].start..self.tokens[tokens.end - 1].end(), with, price);
    }

    /// Puts a mark before a token; behind the one before it, where it does not open anything.
    fn insert(&mut self, n: usize, mark: &str, price: usize) {
        let is_ahead = ["(", "[", "{", "#{", "!", "|"].contains(&mark);
        let ahead = self.tokens.get(n).filter(|_| is_ahead || n == 0).map(|token| token.start);
        let at = ahead.unwrap_or_else(|| n.checked_sub(1).map_or(0, |before| self.tokens[before].end()));
        let is_apart = ["==", "+", "&&", "="].contains(&mark);
        let with = if is_apart { format!(" {mark} ") } else { mark.to_owned() };
        self.put(at..at, &with, price);
    }

    /// Returns the tokens around the place.
    fn near(&self) -> Range<usize> {
        self.stop.saturating_sub(BEFORE)..self.tokens.len().min(self.stop + 3)
    }

    fn rules(&mut self) {
        for rule in RULES.iter() {
            let near = self.tokens.iter().enumerate().take(self.near().end);
            for (n, token) in near.skip(self.stop.saturating_sub(LONGEST_RUN)) {
                let matched =
                    rule.may_begin(token).then(|| rule.at(self.tokens, n, self.stuck.lexicon)).flatten();
                self.found.extend(matched.and_then(|matched| self.stuck.by_rule(matched)));
            }
        }
    }

    /// Marks around the place: one put in, one taken away, one in place of another.
    fn marks(&mut self) {
        for n in self.near().start..=self.near().end {
            let far = self.stop.abs_diff(n);
            for mark in MARKS {
                self.insert(n, mark, 5 + far);
            }
            let Some(token) = self.tokens.get(n) else { continue };
            if token.kind != Kind::Mark {
                self.delete(n, 14 + far);
                continue;
            }
            let around = [n.checked_sub(1), Some(n + 1)].into_iter().flatten();
            let is_twin = around.filter_map(|at| self.tokens.get(at)).any(|other| other.text == token.text);
            self.delete(n, if is_twin { 2 } else { 6 } + far);
            for mark in MARKS.iter().filter(|mark| **mark != token.text) {
                let is_alike = ALIKE.iter().any(|alike| alike.contains(mark) && alike.contains(&token.text));
                self.replace(n..n + 1, mark, if is_alike { 4 } else { 6 } + far);
            }
        }
    }

    /// Words around the place: nearly one of the engine's, two of them in one, one that is no name, a function inside
    /// something else.
    fn words(&mut self) {
        for n in self.stop.saturating_sub(FAR)..self.near().end {
            let (token, far) = (&self.tokens[n], self.stop.abs_diff(n).min(BEFORE));
            let before = n.checked_sub(1).map(|before| &self.tokens[before]);
            let is_named =
                before.is_some_and(|before| ["let", "const", "fn", "for"].iter().any(|word| before.is(word)));
            let is_function = before.is_some_and(|before| before.is("fn"));
            if is_a(token.text, "KEYWORD") && (is_named || self.stuck.lexicon.is_given(token.text)) {
                self.replace(n..n + 1, &format!("{}_", token.text), 2);
            }
            if token.kind != Kind::Word || !is_function && !self.stuck.lexicon.is_unknown(self.tokens, n) {
                continue;
            }
            let folded = token.text.to_lowercase();
            for word in keywords().filter(|word| strsim::damerau_levenshtein(&folded, word) <= 1) {
                self.replace(n..n + 1, word, 1 + far);
            }
            for (at, _) in token.text.char_indices().skip(1) {
                let (left, right) = token.text.split_at(at);
                let lexicon = self.stuck.lexicon;
                let calls = is_a(left, "CALL") && (lexicon.is_given(right) || is_a(right, "CALL"));
                let asks = lexicon.is_given(left) && (is_a(right, "METHOD") || is_a(right, "PROPERTY"));
                if calls || asks || is_function && lexicon.is_called(left) {
                    self.put(token.start + at..token.start + at, if asks { "." } else { "(" }, 3 + far);
                }
            }
        }
        if let (Some(ParseErrorType::Reserved(name)), Some(token)) =
            (self.stuck.error, self.tokens.get(self.stop))
            && token.is(name)
            && token.kind == Kind::Word
        {
            self.replace(self.stop..self.stop + 1, &format!("{name}_"), 2);
        }
    }

    /// Brackets that are open where the engine stopped, and brackets that close nothing.
    fn brackets(&mut self) {
        let end = self.tokens.len().min(self.stop + 1);
        let (tokens, open) = (self.tokens, open_before(self.tokens, self.stop));
        for opened in open.iter().rev().take(MOST.0).copied() {
            let token = &self.tokens[opened];
            let ends_line = |n: &usize| tokens.get(n + 1).is_none_or(|next| next.line > tokens[*n].line);
            for behind in (opened..tokens.len()).filter(ends_line).take(MOST.1) {
                let last = &tokens[behind];
                let with =
                    if token.is("{") && !last.is("}") { " }" } else { closing(token).unwrap_or_default() };
                self.put(last.end()..last.end(), with, 5);
            }
        }
        if let Some(last) = self.tokens.last().filter(|_| !open.is_empty() && self.stop >= self.tokens.len())
        {
            let closers: String = open.iter().rev().filter_map(|at| closing(&self.tokens[*at])).collect();
            let with = if closers.ends_with('}') { closers } else { closers + ";" };
            self.put(last.end()..last.end(), &with, 6);
        }
        if open.is_empty() && !self.tokens.get(self.stop).is_some_and(is_closing) {
            return;
        }
        let is_glued_twin = |n: usize| {
            let is_bracket = closing(&tokens[n]).is_some() || tokens[n].is("}");
            is_bracket
                && tokens.get(n + 1).is_some_and(|next| next.is(tokens[n].text) && tokens[n].touches(next))
        };
        for (n, token) in tokens.iter().enumerate().take(end) {
            if is_glued_twin(n) {
                self.delete(n, 0);
            } else if is_closing(token) {
                self.delete(n, 7);
            }
        }
    }

    /// Quotes on the line of a text that is not closed: the missing one at each place where one can stand, one too
    /// many, one that belongs to the text, and one where another mark stands.
    fn quotes(&mut self) {
        let line = self.tokens.get(self.stop).or(self.tokens.last()).map_or(0, |token| token.line);
        let is_open =
            |token: &&Token<'_>| token.kind == Kind::Text { closed: false } && token.line.abs_diff(line) <= 1;
        for open in self.tokens.iter().filter(is_open) {
            let first = self.tokens.partition_point(|token| token.line < open.line);
            self.over_two_lines(open);
            self.quotes_of_line(self.tokens[first].start..open.start + open.text.trim_end().len());
        }
    }

    fn quotes_of_line(&mut self, line: Range<usize>) {
        let text = self.stuck.text;
        let is_quote = |at: &usize| text[*at..].starts_with('"') && !text[..*at].ends_with('\\');
        let chars = || text[line.clone()].char_indices().map(|(at, c)| (line.start + at, c));
        let quotes: Vec<usize> = chars().map(|(at, _)| at).filter(is_quote).collect();
        for (at, c) in chars().chain([(line.end, '\n')]) {
            let before = text[line.start..at].chars().next_back();
            let n_before = quotes.partition_point(|quote| *quote < at);
            let (is_open, is_last) = (n_before % 2 == 1, n_before == quotes.len());
            if quotes.contains(&at) {
                self.quote(at, line.start, before, is_open);
                continue;
            }
            if is_open && "“”„»’".contains(c) {
                let message = "this quote does not close what a straight one opens";
                self.said(at..at + c.len_utf8(), "\"", 2, at, message, "write \" in place of it");
            }
            let is_end = ",;)]}+\n".contains(c);
            if is_end && is_open {
                let behind = text[..at].trim_end().len();
                let (message, help) = match c {
                    _ if is_last => ("this text is not closed on its line", "close it with \" where it ends"),
                    ',' => ("this text has no quote behind it", "put \" before the comma"),
                    _ => ("this text has no quote behind it", "close it with \" where it ends"),
                };
                self.said(behind..behind, "\"", 3, quotes[n_before - 1], message, help);
            } else if !is_open && !is_end && before.is_none_or(|c| "([,:+ =".contains(c)) && c != ' ' {
                self.said(at..at, "\"", 3, at, "this text has no quote before it", "put \" before it");
            }
            if c.is_ascii_punctuation() && !"_-/\\".contains(c) {
                self.put(at..at + 1, "\"", 5);
            }
        }
    }

    /// A quote that is one too many, stands for inches, belongs to its text, or stands in place of another mark.
    fn quote(&mut self, at: usize, line_start: usize, before: Option<char>, is_open: bool) {
        let text = self.stuck.text;
        let price = if before == Some('"') { 2 } else { 6 };
        self.said(at..at + 1, "", price, at, "this quote is one too many", "remove it");
        let is_inch = before.is_some_and(|c| c.is_ascii_digit());
        let help =
            if is_inch { "write inch, or \\\" for the mark" } else { "write \\\" for a quote inside a text" };
        self.said(at..at, "\\", 5 - usize::from(is_inch), at, "this quote ends the text", help);
        let figure = text[line_start..at].trim_end_matches(|c: char| c.is_ascii_digit() || c == '.');
        if is_inch && !is_open && !figure.ends_with(|c: char| c.is_alphanumeric()) {
            let (unit, length) = if text[at + 1..].starts_with("Hg") { (".inHg", 3) } else { (".inch", 1) };
            let help = format!("write {}{unit}", &text[line_start + figure.len()..at]);
            self.said(at..at + length, unit, 1, at, "inches are not marked by a quote here", &help);
        }
        for mark in [",", ";", ":", ".", "(", ")", "+", "=", "{", "}", "[", "]", "|"] {
            self.put(at..at + 1, mark, 6);
        }
    }

    /// A text that is closed on the line below the one on which it begins.
    fn over_two_lines(&mut self, open: &Token<'_>) {
        let below = self.tokens.partition_point(|token| token.line <= open.line);
        let end = self.tokens.partition_point(|token| token.line <= open.line + 1);
        let is_open = |token: &Token<'_>| token.kind == Kind::Text { closed: false };
        if let Some(first) = self.tokens[below..end].first().filter(|_| is_open(&self.tokens[end - 1])) {
            let with = format!("\" +{}\"", &self.stuck.text[open.end()..first.start]);
            let help = "join the two lines, or write \" + at the end and \" before the rest";
            let message = "this text is not closed on its line";
            self.said(open.end()..first.start, &with, 2, open.start, message, help);
        }
    }
}
