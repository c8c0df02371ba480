use std::ops::Range;

use rhai::ParseErrorType;

use super::lexicon::{Lexicon, is_call, is_keyword, is_method, keywords};
use super::patterns::{Match, RULES};
use super::tokens::{Kind, Token, closing, is_closing};

/// Marks that may be missing, or stand where another does.
const MARKS: &[&str] =
    &[",", ";", ":", ".", "=", "(", ")", "{", "}", "[", "]", "|", "+", "#{", "\"", "==", "<", ">", "!", "&&"];
/// Marks of two characters.
const PAIRS: &[&str] = &["==", "!=", "<=", ">=", "&&", "||", "#{", "..", "::", "+="];
/// How far before the place where the engine stops a slip is looked for, in tokens.
const BEFORE: usize = 4;
/// How many brackets that are open are looked at.
const MOST_OPEN: usize = 5;

/// An edit that might mend a text.
pub(super) struct Guess<'r> {
    /// What is replaced.
    pub(super) bytes: Range<usize>,
    /// What is put in its place.
    pub(super) with: String,
    /// How unlikely it is, before what the text looks like with it.
    pub(super) price: usize,
    /// What it does.
    pub(super) does: Does<'r>,
}

/// What an edit does, by the numbers of the tokens that it does it to.
pub(super) enum Does<'r> {
    /// It writes what a row of the table says.
    Rule(Match<'r>),
    /// It puts a mark before a token.
    Insert(usize, &'static str),
    /// It takes a token away.
    Delete(usize),
    /// It writes a mark in place of tokens.
    Replace(Range<usize>, &'static str),
    /// It writes a word of the engine's in place of one that is nearly like it.
    Spell(usize, &'static str),
    /// It puts a mark between two words that have run together.
    Split(usize, usize, &'static str),
    /// It closes a bracket and what is open in it behind a token.
    Close { opened: usize, behind: usize },
    /// It puts, escapes or removes a quote; this is said at a byte of the text.
    Quote { at: usize, message: &'static str, help: String },
    /// It gives another name to something.
    Rename(usize),
    /// It moves a function to the front.
    Move(usize),
}

/// What guesses are made from.
pub(super) struct Stuck<'t> {
    /// The text.
    pub(super) text: &'t str,
    /// Its tokens.
    pub(super) tokens: &'t [Token<'t>],
    /// What its words mean.
    pub(super) lexicon: &'t Lexicon,
    /// The token at which the engine stopped, or the first word that means nothing.
    pub(super) stop: usize,
    /// How many lines of the file stand before it.
    pub(super) lines_before: usize,
    /// Why it stopped.
    pub(super) error: Option<&'t ParseErrorType>,
}

impl<'t> Stuck<'t> {
    /// Returns every edit worth trying, the most likely first.
    pub(super) fn guesses(&self) -> Vec<Guess<'static>> {
        let mut found = Vec::new();
        self.rules(&mut found);
        self.marks(&mut found);
        self.words(&mut found);
        self.brackets(&mut found);
        self.quotes(&mut found);
        if let (Some(ParseErrorType::Reserved(name)), Some(token)) = (self.error, self.tokens.get(self.stop))
            && token.is(name)
            && token.kind == Kind::Word
        {
            let (bytes, with) = (token.start..token.end(), format!("{name}_"));
            found.push(Guess { bytes, with, price: 2, does: Does::Rename(self.stop) });
        }
        if self.error == Some(&ParseErrorType::WrongFnDefinition) {
            found.extend(self.moved());
        }
        found.sort_by_key(|guess| guess.price);
        found
    }

    fn rules(&self, found: &mut Vec<Guess<'static>>) {
        for rule in RULES.iter() {
            for n in self.stop.saturating_sub(rule.reach())..self.tokens.len().min(self.stop + 2) {
                if rule.may_begin(&self.tokens[n])
                    && let Some(matched) = rule.at(self.tokens, n, self.lexicon)
                {
                    found.extend(self.by_rule(matched));
                }
            }
        }
    }

    fn by_rule(&self, matched: Match<'static>) -> Option<Guess<'static>> {
        let with = matched.write(self.text, self.tokens)?;
        let replaced = matched.found();
        let bytes = if replaced.is_empty() && matched.is_before() {
            let at = self.tokens.get(replaced.start)?.start;
            at..at
        } else if replaced.is_empty() {
            let at = self.tokens[replaced.start.checked_sub(1)?].end();
            at..at
        } else {
            self.tokens[replaced.start].start..self.tokens[replaced.end - 1].end()
        };
        Some(Guess { bytes, with, price: matched.price(), does: Does::Rule(matched) })
    }

    /// Returns an edit of something that can't be meant, wherever it stands.
    pub(super) fn sure(&self) -> Option<Guess<'static>> {
        let sure = || RULES.iter().filter(|rule| rule.is_sure());
        let found = (0..self.tokens.len())
            .find_map(|n| sure().find_map(|rule| rule.at(self.tokens, n, self.lexicon)));
        self.by_rule(found?)
    }

    /// Marks around the place: one put in, one taken away, one in place of another.
    fn marks(&self, found: &mut Vec<Guess<'static>>) {
        let is_expected = |mark: &str| match self.error {
            Some(ParseErrorType::MissingToken(expected, _)) => {
                expected == mark || expected == "," && [")", "]", "}"].contains(&mark)
            }
            _ => false,
        };
        for n in self.stop.saturating_sub(BEFORE)..=self.tokens.len().min(self.stop + 1) {
            let far = self.stop.abs_diff(n);
            for mark in MARKS.iter().copied().filter(|mark| *mark != "\"") {
                let price = if is_expected(mark) { 4 } else { 5 } + far;
                let is_ahead = n == 0 || ["(", "[", "{", "#{", "!", "|"].contains(&mark);
                let at = match self.tokens.get(n).filter(|_| is_ahead) {
                    Some(token) => token.start,
                    None => n.checked_sub(1).map_or(0, |before| self.tokens[before].end()),
                };
                let with = if ["==", "+", "&&", "="].contains(&mark) {
                    format!(" {mark} ")
                } else {
                    mark.to_owned()
                };
                found.push(Guess { bytes: at..at, with, price, does: Does::Insert(n, mark) });
            }
            let Some(token) = self.tokens.get(n) else { continue };
            let bytes = token.start..token.end();
            let is_doubled = |other: &Token<'_>| other.text == token.text;
            let is_twin = token.kind == Kind::Mark
                && (n.checked_sub(1).is_some_and(|before| is_doubled(&self.tokens[before]))
                    || self.tokens.get(n + 1).is_some_and(is_doubled));
            let price = if is_twin {
                2
            } else if token.kind == Kind::Mark {
                6
            } else {
                14
            } + far;
            found.push(Guess { bytes: bytes.clone(), with: String::new(), price, does: Does::Delete(n) });
            if token.kind != Kind::Mark {
                continue;
            }
            for mark in MARKS.iter().filter(|mark| **mark != token.text) {
                let price = match () {
                    () if is_expected(mark) => 3,
                    () if is_alike(token.text, mark) => 4,
                    () => 6,
                } + far;
                let does = Does::Replace(n..n + 1, mark);
                found.push(Guess { bytes: bytes.clone(), with: (*mark).to_owned(), price, does });
            }
            let next =
                self.tokens.get(n + 1).filter(|next| next.start == token.end() && next.kind == Kind::Mark);
            let Some(next) = next else { continue };
            for pair in PAIRS {
                let is_near = pair.starts_with(token.text) || pair.ends_with(next.text);
                let does = Does::Replace(n..n + 2, pair);
                let price = if is_near { 4 } else { 8 } + far;
                found.push(Guess { bytes: token.start..next.end(), with: (*pair).to_owned(), price, does });
            }
        }
    }

    /// Words around the place: nearly one of the engine's, or two of them in one.
    fn words(&self, found: &mut Vec<Guess<'static>>) {
        for n in self.stop.saturating_sub(BEFORE)..self.tokens.len().min(self.stop + 2) {
            let token = &self.tokens[n];
            let is_function = n > 0 && self.tokens[n - 1].is("fn");
            if token.kind != Kind::Word || !is_function && !self.lexicon.is_unknown(self.tokens, n) {
                continue;
            }
            let far = self.stop.abs_diff(n);
            let bytes = token.start..token.end();
            for word in keywords() {
                if !is_keyword(token.text)
                    && strsim::damerau_levenshtein(&token.text.to_lowercase(), word) <= 1
                {
                    let does = Does::Spell(n, word);
                    found.push(Guess { bytes: bytes.clone(), with: word.to_owned(), price: 1 + far, does });
                }
            }
            for (at, _) in token.text.char_indices().skip(1) {
                let (left, right) = token.text.split_at(at);
                let is_name = self.lexicon.is_given(left);
                let mark = match () {
                    () if is_call(left) && (self.lexicon.is_given(right) || is_call(right)) => "(",
                    () if is_function && self.lexicon.is_called(left) => "(",
                    () if is_name && (is_method(right) || super::lexicon::is_property(right)) => ".",
                    () => continue,
                };
                let at = token.start + at;
                let does = Does::Split(n, at, mark);
                found.push(Guess { bytes: at..at, with: mark.to_owned(), price: 3 + far, does });
            }
        }
    }

    /// Returns whether the same mark stands right behind this one.
    fn is_glued_twin(&self, n: usize) -> bool {
        let token = &self.tokens[n];
        self.tokens.get(n + 1).is_some_and(|next| next.is(token.text) && next.start == token.end())
    }

    /// Brackets that are open where the engine stopped, and brackets that close nothing.
    fn brackets(&self, found: &mut Vec<Guess<'static>>) {
        let mut open: Vec<usize> = Vec::new();
        let mut closers = Vec::new();
        let mut is_sound = true;
        let end = self.tokens.len().min(self.stop + 1);
        for (n, token) in self.tokens[..end].iter().enumerate() {
            if closing(token).is_some() {
                open.push(n);
            } else if is_closing(token) {
                let is_partner = open.last().is_some_and(|at| closing(&self.tokens[*at]) == Some(token.text));
                is_sound &= is_partner;
                closers.push(n);
                if is_partner || n < self.stop {
                    open.pop();
                }
            }
        }
        for opened in open.iter().rev().take(MOST_OPEN) {
            let token = &self.tokens[*opened];
            let Some(closer) = closing(token) else { continue };
            let bytes = token.start..token.end();
            let price = if self.is_glued_twin(*opened) { 0 } else { 7 };
            found.push(Guess {
                bytes: bytes.clone(),
                with: String::new(),
                price,
                does: Does::Delete(*opened),
            });
            for mark in ["(", "[", "{", "#{", "}", ")", "]"].iter().filter(|mark| **mark != token.text) {
                let does = Does::Replace(*opened..*opened + 1, mark);
                found.push(Guess { bytes: bytes.clone(), with: (*mark).to_owned(), price: 6, does });
            }
            let is_line_end =
                |n: &usize| self.tokens.get(n + 1).is_none_or(|next| next.line > self.tokens[*n].line);
            for behind in (*opened..self.tokens.len()).filter(is_line_end).take(60) {
                let last = &self.tokens[behind];
                // What ends the line ends it behind the bracket, but for a statement in a block.
                let is_inside = !token.is("{") && (last.is(";") || last.is(",")) && behind > *opened;
                let at = if is_inside { last.start } else { last.end() };
                let does =
                    Does::Close { opened: *opened, behind: if is_inside { behind - 1 } else { behind } };
                let with = if token.is("{") && !last.is("}") { " }" } else { closer };
                found.push(Guess { bytes: at..at, with: with.to_owned(), price: 5, does });
            }
        }
        if let (Some(outermost), Some(last)) = (open.first(), self.tokens.last())
            && self.stop >= self.tokens.len()
        {
            let mut with: String = open.iter().rev().filter_map(|at| closing(&self.tokens[*at])).collect();
            if !with.ends_with('}') {
                with.push(';');
            }
            let at = last.end();
            let does = Does::Close { opened: *outermost, behind: self.tokens.len() - 1 };
            found.push(Guess { bytes: at..at, with, price: 6, does });
        }
        if is_sound && open.is_empty() {
            return;
        }
        for n in (0..end).filter(|n| closing(&self.tokens[*n]).is_some() && self.is_glued_twin(*n)) {
            let bytes = self.tokens[n].start..self.tokens[n].end();
            found.push(Guess { bytes, with: String::new(), price: 0, does: Does::Delete(n) });
        }
        self.unopened(found);
        for n in closers.into_iter().rev().take(40) {
            let bytes = self.tokens[n].start..self.tokens[n].end();
            let price = if self.is_glued_twin(n) && self.tokens[n].is("}") { 0 } else { 7 };
            found.push(Guess { bytes: bytes.clone(), with: String::new(), price, does: Does::Delete(n) });
            for mark in [")", "]", "}", ";", ","].iter().filter(|mark| **mark != self.tokens[n].text) {
                let does = Does::Replace(n..n + 1, mark);
                found.push(Guess { bytes: bytes.clone(), with: (*mark).to_owned(), price: 6, does });
            }
        }
    }

    /// The bracket that is missing for one that closes something where the engine stopped: behind what it may stand behind,
    /// or in place of another mark.
    fn unopened(&self, found: &mut Vec<Guess<'static>>) {
        let Some(closer) = self.tokens.get(self.stop).filter(|token| is_closing(token)) else { return };
        let opener = match closer.text {
            ")" => "(",
            "]" => "[",
            _ => "{",
        };
        let mut depth = 0_usize;
        for n in (self.stop.saturating_sub(120)..self.stop).rev() {
            let (token, next) = (&self.tokens[n], &self.tokens[n + 1]);
            let ends_line = next.line > token.line;
            depth += usize::from(is_closing(token));
            if depth == 0 && (opener != "{" || ends_line) {
                let is_place = match opener {
                    "(" => token.kind == Kind::Word,
                    "[" => [":", ",", "(", "=", "in"].iter().any(|mark| token.is(mark)),
                    _ => true,
                };
                if is_place {
                    let with = if opener == "(" { "(".to_owned() } else { format!(" {opener}") };
                    found.push(Guess {
                        bytes: token.end()..token.end(),
                        with,
                        price: 5,
                        does: Does::Insert(n + 1, opener),
                    });
                }
                if token.kind == Kind::Mark && !is_closing(token) {
                    let does = Does::Replace(n..n + 1, opener);
                    found.push(Guess {
                        bytes: token.start..token.end(),
                        with: opener.to_owned(),
                        price: 6,
                        does,
                    });
                }
            }
            if closing(token).is_some() {
                let Some(less) = depth.checked_sub(1) else { return };
                depth = less;
            }
        }
    }

    /// Quotes on the line of a text that is not closed: the missing one at each place where one can stand, one too many,
    /// one that belongs to the text, and one where another mark stands.
    fn quotes(&self, found: &mut Vec<Guess<'static>>) {
        let line =
            self.tokens.get(self.stop.min(self.tokens.len().saturating_sub(1))).map_or(0, |token| token.line);
        let opens = |token: &&Token<'_>| token.kind == Kind::Text { closed: false };
        for open in self.tokens.iter().filter(opens).filter(|open| open.line.abs_diff(line) <= 1) {
            let first = self.tokens.partition_point(|token| token.line < open.line);
            let on_line = &self.tokens[first..self.tokens.partition_point(|token| token.line <= open.line)];
            let start = on_line[0].start;
            let shown = open.text.trim_end();
            let end = open.start + shown.len();
            let quoted = |at: usize| self.text[at..].starts_with('"') && !self.text[..at].ends_with('\\');
            let quotes: Vec<usize> =
                (start..end).filter(|at| self.text.is_char_boundary(*at) && quoted(*at)).collect();
            let mut push = |bytes: Range<usize>, with: &str, price, at, message, help: &str| {
                let does = Does::Quote { at, message, help: help.to_owned() };
                found.push(Guess { bytes, with: with.to_owned(), price, does });
            };
            self.over_two_lines(open, &mut push);
            for (at, c) in
                self.text[start..end].char_indices().map(|(at, c)| (start + at, c)).chain([(end, '\n')])
            {
                let before = self.text[start..at].chars().next_back();
                let n_before = quotes.iter().filter(|quote| **quote < at).count();
                let is_open = n_before % 2 == 1;
                let opened = n_before.checked_sub(1).map_or(at, |n| quotes[n]);
                if c == '"' && quoted(at) {
                    let is_doubled = before == Some('"');
                    push(
                        at..at + 1,
                        "",
                        if is_doubled { 2 } else { 6 },
                        at,
                        "this quote is one too many",
                        "remove it",
                    );
                    let is_inch = before.is_some_and(|c| c.is_ascii_digit());
                    if is_inch && !is_open {
                        let number = self.text[start..at]
                            .trim_end_matches(|c: char| c.is_ascii_digit() || c == '.')
                            .len();
                        let is_mercury = self.text[at + 1..].starts_with("Hg");
                        let (unit, length) = if is_mercury { (".inHg", 3) } else { (".inch", 1) };
                        let help = format!("write {}{unit}", &self.text[start + number..at]);
                        push(at..at + length, unit, 1, at, "inches are not marked by a quote here", &help);
                    }
                    let help = if is_inch {
                        "write inch, or \\\" for the mark"
                    } else {
                        "write \\\" for a quote inside a text"
                    };
                    push(at..at, "\\", 5 - usize::from(is_inch), at, "this quote ends the text", help);
                    for mark in [",", ";", ":", ".", "(", ")", "+", "=", "{", "}", "[", "]", "|"] {
                        push(
                            at..at + 1,
                            mark,
                            6,
                            at,
                            "a quote stands here in place of another mark",
                            "look what belongs here",
                        );
                    }
                    continue;
                }
                let is_end = ",;)]}+\n".contains(c);
                if is_end && is_open {
                    let message = if n_before == quotes.len() {
                        "this text is not closed on its line"
                    } else {
                        "this text has no quote behind it"
                    };
                    let help = match c {
                        ',' if n_before < quotes.len() => "put \" before the comma",
                        _ => "close it with \" where it ends",
                    };
                    let at_text = self.text[..at].trim_end().len();
                    push(at_text..at_text, "\"", 3, opened, message, help);
                }
                let is_begin = before.is_none_or(|c| "([,:+ =".contains(c)) && !c.is_whitespace() && !is_end;
                if is_begin && !is_open {
                    push(at..at, "\"", 3, at, "this text has no quote before it", "put \" before it");
                }
                if c.is_ascii_punctuation() && !"_-/\\".contains(c) {
                    let message = if is_open { "a quote ends a text" } else { "a quote begins a text" };
                    push(at..at + 1, "\"", 5, at, message, "write \" here");
                }
            }
        }
    }

    /// A text that is closed on the line below the one on which it begins.
    fn over_two_lines(
        &self,
        open: &Token<'_>,
        push: &mut impl FnMut(Range<usize>, &str, usize, usize, &'static str, &str),
    ) {
        let below = self.tokens.partition_point(|token| token.line <= open.line);
        let end = self.tokens.partition_point(|token| token.line <= open.line + 1);
        let (Some(first), Some(last)) = (self.tokens.get(below), self.tokens.get(end.saturating_sub(1)))
        else {
            return;
        };
        if last.line != open.line + 1 || last.kind != (Kind::Text { closed: false }) {
            return;
        }
        let with = format!("\" +{}\"", &self.text[open.end()..first.start]);
        let help = "join the two lines, or write \" + at the end and \" before the rest";
        push(open.end()..first.start, &with, 2, open.start, "this text is not closed on its line", help);
    }

    /// A function inside something else, moved to the front.
    fn moved(&self) -> Option<Guess<'static>> {
        let first = (0..self.tokens.len().min(self.stop + 1)).rev().find(|n| self.tokens[*n].is("fn"))?;
        let mut depth = 0_usize;
        let last = (first..self.tokens.len()).find(|n| {
            let token = &self.tokens[*n];
            depth += usize::from(closing(token).is_some());
            depth -= usize::from(is_closing(token)).min(depth);
            depth == 0 && token.is("}")
        })?;
        let words: Vec<&str> = self.tokens[first..=last].iter().map(|token| token.text).collect();
        let (start, end) = (self.tokens[first].start, self.tokens[last].end());
        let blank = |text: &str| text.chars().map(|c| if c == '\n' { '\n' } else { ' ' }).collect::<String>();
        let with = format!("{} {}{}", words.join(" "), &self.text[..start], blank(&self.text[start..end]));
        Some(Guess { bytes: 0..end, with, price: 0, does: Does::Move(first) })
    }
}

/// Returns whether two marks are easily taken for one another.
fn is_alike(one: &str, other: &str) -> bool {
    const ALIKE: &[&[&str]] = &[
        &[",", ";", ".", ":"],
        &["(", "[", "{", "#{"],
        &[")", "]", "}"],
        &["=", ":"],
        &["=", "=="],
        &["\"", "'"],
    ];
    ALIKE.iter().any(|alike| alike.contains(&one) && alike.contains(&other))
}
