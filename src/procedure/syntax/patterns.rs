//! The table of known slips, matched against tokens and filled in with what was found.

use std::ops::Range;
use std::sync::LazyLock;

use unicode_normalization::UnicodeNormalization;

use super::lexicon::{Lexicon, is_a};
use super::tokens::{Kind, Token, closing, is_closing};
use super::word_named;
use crate::quantity::{Dimension, Unit, shown};

/// How many tokens `..` may stand for, and how many before the place where the engine stops a pattern may begin.
pub(super) const LONGEST_RUN: usize = 160;
/// Letters of other alphabets that look like one of a to z, each in front of it.
const ALIKE: &str =
    "аaеeоoрpсcуyхxіiѕsјjԁdһhнhкkмmтtвbАAВBЕEКKМMНHОOРPСCТTХXоoαaνvρpεeτtυuιiκkΑAΒBΕEΗHΙIΚKΜMΝNΟOΡPΤTΥYΧXßs";

/// The slips that have better words than the edit that mends them; the file says how its rows are written.
const KNOWN_SLIPS: &str = include_str!("known_slips.txt");

/// A row of the table, taken apart.
pub(super) struct Rule {
    /// What to write in place of it, what is said of it, and what helps.
    with: &'static str,
    message: &'static str,
    help: &'static str,
    parts: Vec<Part>,
    /// Which parts are replaced.
    found: Range<usize>,
    /// Which part is pointed at.
    caret: usize,
    /// Whether it looks for a character that can't be meant where it stands.
    pub(super) is_sure: bool,
}

struct Part {
    is_glued: bool,
    sorts: Vec<&'static str>,
}

/// Every row, taken apart once.
pub(super) static RULES: LazyLock<Vec<Rule>> =
    LazyLock::new(|| KNOWN_SLIPS.lines().filter_map(Rule::of).collect());

/// A place that looks like a row.
pub(super) struct Match {
    rule: &'static Rule,
    /// Which tokens each part of the pattern stands for.
    parts: Vec<Range<usize>>,
}

impl Rule {
    /// Reads a line of the file; none where it is a comment or empty.
    fn of(row: &'static str) -> Option<Rule> {
        let mut columns = row.split('\t');
        let (pattern, with) = (columns.next()?, columns.next()?);
        let (message, help) = (columns.next()?, columns.next()?);
        let (mut parts, mut found, mut caret) = (Vec::new(), 0..0, None);
        for mut text in pattern.split(' ') {
            if let Some(rest) = text.strip_prefix('«') {
                (text, found.start) = (rest, parts.len());
            }
            let ended = text.strip_suffix('»').filter(|_| found.end == 0);
            text = ended.unwrap_or(text);
            let glued = text.strip_prefix('~').filter(|rest| !rest.is_empty());
            text = glued.unwrap_or(text);
            if let Some(rest) = text.strip_prefix('^') {
                (text, caret) = (rest, Some(parts.len()));
            }
            if !text.is_empty() {
                let sorts = if text.len() > 1 { text.split('/').collect() } else { vec![text] };
                parts.push(Part { is_glued: glued.is_some(), sorts });
            }
            if ended.is_some() {
                found.end = parts.len();
            }
        }
        let caret = caret.unwrap_or(found.start);
        let is_odd = |sort: &&str| ["CURLY", "NBSP", "WIDE"].contains(sort) || !sort.is_ascii();
        let is_sure = parts[found.clone()].iter().any(|part: &Part| part.sorts.iter().all(is_odd));
        Some(Rule { with, message, help, parts, found, caret, is_sure })
    }

    /// Returns whether the pattern may stand where this token begins, by its text alone.
    pub(super) fn may_begin(&self, token: &Token<'_>) -> bool {
        let is_sort = |sort: &str| sort.starts_with(|c: char| c.is_ascii_uppercase());
        let mut begin = self.parts.iter().skip_while(|part| part.sorts[0] == "START");
        begin.next().is_some_and(|part| {
            part.sorts.iter().any(|sort| is_sort(sort) || token.text.eq_ignore_ascii_case(sort))
        })
    }

    /// Looks whether the pattern stands where this token begins.
    pub(super) fn at(&'static self, tokens: &[Token<'_>], n: usize, lexicon: &Lexicon) -> Option<Match> {
        let mut parts = Vec::new();
        self.fits(tokens, n, lexicon, &mut parts).then_some(Match { rule: self, parts })
    }

    fn fits(&self, tokens: &[Token<'_>], n: usize, lexicon: &Lexicon, parts: &mut Vec<Range<usize>>) -> bool {
        let Some(part) = self.parts.get(parts.len()) else { return true };
        let is_in_found = self.found.contains(&parts.len());
        let mut tries = |end: usize| {
            parts.push(n..end);
            let fits = self.fits(tokens, end, lexicon, parts);
            if !fits {
                parts.pop();
            }
            fits
        };
        let length = match part.sorts[0] {
            "START" => begins(tokens, n).then_some(0),
            "END" => (n > 0 && tokens.get(n).is_none_or(|next| next.line > tokens[n - 1].line)).then_some(0),
            ".." => return ends_of_run(tokens, n).any(tries),
            "REST" => Some(line_from(tokens, n)).filter(|length| *length > 0),
            "NOTE" => note(tokens, n),
            "PROSE" => prose(tokens, n),
            _ => {
                let Some(token) = tokens.get(n) else { return false };
                let before = n.checked_sub(1).map(|before| &tokens[before]);
                let is_glued = before.is_some_and(|before| before.touches(token));
                let fits = part.sorts.iter().any(|sort| is_sort(sort, (before, token), is_in_found, lexicon));
                (fits && (is_glued || !part.is_glued)).then_some(1)
            }
        };
        length.is_some_and(|length| tries(n + length))
    }
}

fn is_sort(
    sort: &str,
    (before, token): (Option<&Token<'_>>, &Token<'_>),
    is_loose: bool,
    lexicon: &Lexicon,
) -> bool {
    let is_glued = before.is_some_and(|before| before.touches(token));
    let is_word = token.kind == Kind::Word;
    let opens_with = |quotes: &str| token.text.starts_with(|c| quotes.contains(c));
    match sort {
        "WORD" => is_word,
        "NUM" => token.kind == Kind::Number,
        "THREE" => token.kind == Kind::Number && token.text.len() == 3,
        "TEXT" => token.is_closed_text(),
        "CURLY" => token.is_closed_text() && opens_with("“”„«‘"),
        "SINGLE" => token.is_closed_text() && opens_with("'") && token.text.chars().count() > 3,
        "VALUE" => token.kind != Kind::Mark || token.is("#{") || token.is("["),
        "MARK" => token.kind == Kind::Mark,
        "NBSP" => token.is("\u{A0}"),
        "MONEY" => ["$", "€", "£"].contains(&token.text),
        "CODE" => {
            let is_code = token.text.len() == 3 && token.text.chars().all(|c| c.is_ascii_uppercase());
            is_word && (is_code || ["dollar", "dollars", "euro", "euros"].contains(&token.text))
        }
        "UNIT" => {
            let is_behind_number = is_glued && before.is_some_and(|before| before.kind == Kind::Number);
            let is_unit = is_word && Unit::by_text(token.text).is_some();
            is_unit && token.text != "in" && (token.text.len() > 1 || !is_behind_number)
        }
        "FOREIGN" => is_word && !token.text.is_ascii(),
        "WIDE" => token.kind == Kind::Mark && !token.text.is_ascii() && token.text.chars().all(is_wide),
        "NAME" => is_word && lexicon.is_given(token.text),
        "CALL" | "METHOD" | "KEY" | "LISTS" => is_word && is_a(token.text, sort),
        "ASKED" | "PROPERTY" => is_word && is_a(token.text, sort) && !lexicon.is_given(token.text),
        _ if is_loose && is_word => token.text.eq_ignore_ascii_case(sort),
        _ => token.is(sort),
    }
}

/// Returns whether something begins here: an entry, a statement, a line.
fn begins(tokens: &[Token<'_>], n: usize) -> bool {
    let Some(before) = n.checked_sub(1).map(|before| &tokens[before]) else { return true };
    tokens.get(n).is_some_and(|token| token.line > before.line)
        || [";", ",", "{", "}"].iter().any(|mark| before.is(mark))
}

/// Returns where a run of tokens may end: brackets in it are whole, and no statement ends.
fn ends_of_run<'t>(tokens: &'t [Token<'t>], n: usize) -> impl Iterator<Item = usize> + 't {
    let mut depth = 0_usize;
    let mut is_over = false;
    let ends = (n..tokens.len().min(n + LONGEST_RUN)).map(move |at| {
        if is_over {
            return None;
        }
        let here = (depth == 0).then_some(at);
        let token = &tokens[at];
        if closing(token).is_some() {
            depth += 1;
        } else if is_closing(token) {
            is_over = depth == 0;
            depth = depth.saturating_sub(1);
        }
        let is_content = n > 0 && closing(&tokens[n - 1]).is_some();
        is_over |= !is_content && (depth == 0 && token.is(";") || depth == 1 && token.is("{"));
        Some(here)
    });
    ends.map_while(|end| end).flatten()
}

/// Returns how many tokens stand from here to the end of the line.
fn line_from(tokens: &[Token<'_>], n: usize) -> usize {
    let line = |token: &&Token<'_>| token.line == tokens[n].line;
    tokens.get(n..).map_or(0, |rest| rest.iter().take_while(line).count())
}

/// A line that begins with words and nothing between them, and has nothing in it that a script is made of.
fn note(tokens: &[Token<'_>], n: usize) -> Option<usize> {
    let line = &tokens[n..n + line_from(tokens, n)];
    let words = line.iter().take_while(|token| token.kind == Kind::Word).count();
    let is_code = |token: &Token<'_>| {
        let is_mark = ["=", "#{", "{", "|", "==", "+"].iter().any(|mark| token.is(mark));
        is_mark || matches!(token.kind, Kind::Text { .. })
    };
    let first = line.first()?;
    let is_behind = n > 0 && tokens[n - 1].is(";") && tokens[n - 1].line == first.line;
    let least = if is_behind { 2 } else { 3 } + usize::from(is_a(first.text, "CALL"));
    let begins = ["let", "const", "if", "else", "for", "while", "fn", "function", "return", "import"];
    let is_note = words >= least
        && !begins.contains(&first.text)
        && !line.iter().any(is_code)
        && !line.last()?.is(",")
        && (!is_behind || words == line.len());
    is_note.then_some(line.len())
}

/// Words that stand without quotes, up to the last mark on their line that ends an entry or a call.
fn prose(tokens: &[Token<'_>], n: usize) -> Option<usize> {
    let line = &tokens[n..n + line_from(tokens, n)];
    let is_plain = |token: &Token<'_>| {
        let joins = ["if", "fn", "in", "and", "or", "not", "else", "is"];
        token.kind == Kind::Word && !joins.contains(&token.text)
    };
    let end = line.iter().rposition(|token| [",", "}", ")"].iter().any(|mark| token.is(mark)))?;
    let end = if line[end].is(")") || end == 0 || !line[end - 1].is("}") { end } else { end - 1 };
    let words = &line[..end];
    let is_prose = words.windows(2).any(|pair| is_plain(&pair[0]) && is_plain(&pair[1]));
    let is_code =
        |token: &Token<'_>| matches!(token.kind, Kind::Text { .. }) || token.is("|") || token.is(":");
    (is_prose && !words.iter().any(is_code)).then_some(end)
}

impl Match {
    /// Returns the tokens that are replaced.
    pub(super) fn found(&self) -> Range<usize> {
        let at = |part: usize| self.parts.get(part).map(|part| part.start);
        let last = self.parts.last().map_or(0, |part| part.end);
        let start = at(self.rule.found.start).unwrap_or(last);
        start..at(self.rule.found.end).unwrap_or(last).max(start)
    }

    /// Returns the bytes that are replaced; where those are none, they stand behind the token before, or
    /// where something begins.
    pub(super) fn bytes(&self, tokens: &[Token<'_>]) -> Option<Range<usize>> {
        let found = self.found();
        if !found.is_empty() {
            return Some(tokens[found.start].start..tokens[found.end - 1].end());
        }
        let begins =
            self.rule.found.start > 0 && self.rule.parts[self.rule.found.start - 1].sorts[0] == "START";
        let behind = found.start.checked_sub(1).map(|before| tokens[before].end());
        let at = if begins { tokens.get(found.start)?.start } else { behind? };
        Some(at..at)
    }

    /// Returns how unlikely it is that this was meant: the less the more of it just happens to be there.
    pub(super) fn price(&self) -> usize {
        match &self.rule.parts[self.rule.found.clone()] {
            [one] if one.sorts[0] == ".." => 1 + self.found().len() / 2,
            found if found.iter().any(|part| part.sorts[0] == "MARK") => 2,
            _ => 1,
        }
    }

    /// Returns the token that is pointed at.
    pub(super) fn caret(&self) -> usize {
        self.parts.get(self.rule.caret).map_or_else(|| self.found().start, |part| part.start)
    }

    /// Returns what is to be written; none where that cannot be worked out.
    pub(super) fn write(&self, text: &str, tokens: &[Token<'_>]) -> Option<String> {
        self.filled(self.rule.with, text, tokens)
    }

    /// Returns what is said of it and what helps.
    pub(super) fn words(&self, text: &str, tokens: &[Token<'_>]) -> (String, String) {
        let words = |template| self.filled(template, text, tokens).unwrap_or_default();
        (words(self.rule.message), words(self.rule.help))
    }

    fn filled(&self, template: &str, text: &str, tokens: &[Token<'_>]) -> Option<String> {
        let mut parts = template.split('$');
        let mut filled = parts.next()?.to_owned();
        for part in parts {
            let name_end = part.find(|c: char| !c.is_ascii_alphabetic()).unwrap_or(part.len());
            let digit =
                part.chars().next().and_then(|c| c.to_digit(10)).and_then(|d| usize::try_from(d).ok());
            let (value, rest) = match digit.filter(|digit| *digit > 0) {
                Some(digit) => (written(text, tokens, self.parts.get(digit - 1)?.clone()), &part[1..]),
                None if name_end == 0 => ("$".to_owned(), part),
                None => (self.value(&part[..name_end], text, tokens)?, &part[name_end..]),
            };
            filled.push_str(&value);
            filled.push_str(rest);
        }
        Some(filled)
    }

    /// Works something out of what is replaced.
    fn value(&self, name: &str, text: &str, tokens: &[Token<'_>]) -> Option<String> {
        let found = &tokens[self.found()];
        let (first, last) = (found.first()?, found.last()?);
        let number = |n: usize| found.get(n)?.text.parse::<f64>().ok();
        let inside = |quoted: &str| {
            let inside = quoted.get(first.text.chars().next()?.len_utf8()..)?;
            Some(inside[..inside.char_indices().next_back()?.0].to_owned())
        };
        match name {
            "sum" => match last.text {
                "½" => Some((number(0)? + 0.5).to_string()),
                "¼" => Some((number(0)? + 0.25).to_string()),
                "¾" => Some((number(0)? + 0.75).to_string()),
                _ => Some((number(0)? + number(1)? / number(3).filter(|of| *of != 0.0)?).to_string()),
            },
            "share" => Some((number(0)? / 100.0).to_string()),
            "unit" => Some(Unit::by_text(last.text)?.word.to_owned()),
            "hours" => {
                let unit = Unit::by_text(last.text).filter(|unit| unit.dimension == Dimension::Duration)?;
                Some(shown(unit.to_si(number(0)?) / 3600.0, 2))
            }
            "open" => Some(first.text.chars().next()?.to_string()),
            "text" => Some(inside(first.text)?.replace('"', "'")),
            "inside" => {
                let whole = inside(&text[first.start..last.end()])?;
                (first.line == last.line).then(|| format!("\"{}\"", whole.replace('"', "\\\"")))
            }
            "plain" => Some(first.text.chars().map(plain).collect()),
            "odd" => first.text.chars().find(|c| !c.is_ascii()).map(|c| format!("{c} is {}", called(c))),
            "glued" => {
                let words = || found.iter().filter(|part| part.kind == Kind::Word).map(|part| part.text);
                let glued: String = words().collect();
                let is_used = tokens.iter().any(|token| token.is(&glued));
                Some(if is_used { glued } else { words().collect::<Vec<_>>().join("_") })
            }
            "key" => Some(format!("{}_{}", first.text, last.text)).filter(|key| is_a(key, "KEY")),
            "form" => Some(word_named(first.text)?.form.to_owned()),
            "t" => {
                let word = found.iter().rfind(|token| token.kind == Kind::Word)?.text;
                // Letters that look like the strokes around it.
                let plain = word.trim_matches(['I', 'l']);
                Some(if plain.is_empty() || word == "fn" { "t" } else { plain }.to_owned())
            }
            _ => None,
        }
    }
}

fn written(text: &str, tokens: &[Token<'_>], part: Range<usize>) -> String {
    match &tokens[part] {
        [] => String::new(),
        [first, .., last] => text[first.start..last.end()].to_owned(),
        [one] => one.text.to_owned(),
    }
}

/// Returns what is meant by a letter or a mark that no keyboard for scripts has.
fn plain(letter: char) -> String {
    let mut alike = ALIKE.chars();
    let found =
        std::iter::from_fn(|| Some((alike.next()?, alike.next()?))).find(|(other, _)| *other == letter);
    let plain: String = match found {
        Some((_, plain)) => plain.into(),
        // Accents, ligatures and other widths come apart.
        None => std::iter::once(letter).nfkd().filter(char::is_ascii).collect(),
    };
    if plain.is_empty() { "_".to_owned() } else { plain }
}

/// Returns whether a mark is one of the keyboard's in another width, or looks like one.
fn is_wide(mark: char) -> bool {
    matches!(mark, '\u{FF01}'..='\u{FF5E}' | '\u{37E}')
}

/// Returns what a letter or a mark is that no keyboard for scripts has.
fn called(letter: char) -> &'static str {
    match u32::from(letter) {
        0x37E => "a Greek question mark",
        0x370..=0x3FF => "a Greek letter",
        0x400..=0x52F => "a Cyrillic letter",
        0xFB00..=0xFB06 => "several letters in one",
        0xFF00..=0xFFEF => "a sign of another width",
        0xC0..=0x24F => "no plain letter",
        _ => "a letter of another alphabet",
    }
}
