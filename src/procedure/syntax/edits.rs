//! Edits of a text, and the words in which each is told.

use std::ops::Range;

use super::Fault;
use super::guesses::{Guess, Reason, Stuck};
use super::parse_errors::mark_missing;
use super::tokens::{Kind, closing, is_closing, open_before};

/// An edit of a text, and what is said of it.
pub(super) struct Edit {
    pub(super) bytes: Range<usize>,
    pub(super) with: String,
    pub(super) fault: Fault,
}

impl Edit {
    /// Puts a guess into words.
    pub(super) fn of(guess: &Guess, stuck: &Stuck<'_>) -> Edit {
        let (at, message, help) = match &guess.reason {
            Reason::Rule(matched) => {
                let (message, help) = matched.words(stuck.text, stuck.tokens);
                let caret = matched.caret().min(stuck.tokens.len().saturating_sub(1));
                (stuck.tokens[caret].start, message, help)
            }
            Reason::Said { at, message, help } => (*at, (*message).to_owned(), help.clone()),
            Reason::Edit => match (&stuck.text[guess.bytes.clone()], guess.with.trim()) {
                ("", mark) => inserted(stuck, guess.bytes.start, mark),
                (old, "") => deleted(stuck, guess.bytes.start, old),
                (old, new) => replaced(stuck, guess.bytes.start, old, new),
            },
        };
        let before = &stuck.text[..at];
        let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
        let fault = said(before.matches('\n').count() + 1, column, message, help);
        Edit { bytes: guess.bytes.clone(), with: guess.with.clone(), fault }
    }
}

/// Says something of a place in a text whose file is not known here.
pub(super) fn said(line: usize, column: usize, message: String, help: impl Into<String>) -> Fault {
    let help = Some(help.into()).filter(|help| !help.is_empty());
    Fault { line: Some(line), column: Some(column), help, ..Fault::of(message) }
}

fn inserted(stuck: &Stuck<'_>, at: usize, mark: &str) -> (usize, String, String) {
    let n = stuck.tokens.partition_point(|token| token.end() <= at);
    let (before, token) = (n.checked_sub(1).map(|before| &stuck.tokens[before]), stuck.tokens.get(n));
    if let Some(word) = token.filter(|token| token.start < at) {
        let (left, right) = word.text.split_at(at - word.start);
        let name = if mark == "." { "point" } else { mark };
        return (
            word.start,
            format!("a {name} is missing behind {left}"),
            format!("write {left}{mark}{right}"),
        );
    }
    let closers = mark.trim_end_matches(';');
    if closers.chars().all(|c| ")]}".contains(c)) && !closers.is_empty() {
        let open = open_before(stuck.tokens, n);
        let opened = open.len().checked_sub(closers.len()).map(|at| &stuck.tokens[open[at]]);
        if let (Some(opened), Some(before)) = (opened, before) {
            if before.line == opened.line {
                let help = format!("close it with {closers} where it ends");
                return (opened.start, format!("this {} is never closed", opened.text), help);
            }
            let help = format!("close the {} of line {} here", opened.text, opened.line + stuck.lines_before);
            return (before.start, format!("{closers} is missing behind this"), help);
        }
    }
    let (name, help) = mark_missing(mark);
    match (before, token) {
        (Some(before), Some(token)) if mark == "." => {
            let help = format!("write {}.{}", before.text, token.text);
            (token.start, format!("a point is missing before {}", token.text), help)
        }
        (Some(before), _) if mark == "(" && before.kind == Kind::Word => {
            let help = format!("write {}(...)", before.text);
            (before.start, format!("a ( is missing behind {}", before.text), help)
        }
        (Some(before), next) if next.is_none_or(|next| next.line > before.line) => {
            let help = if mark == "," { "put a comma behind each entry".to_owned() } else { help };
            (before.start, format!("{name} is missing behind this"), help)
        }
        _ => (token.map_or(at, |token| token.start), format!("{name} is missing before this"), help),
    }
}

fn deleted(stuck: &Stuck<'_>, at: usize, old: &str) -> (usize, String, String) {
    let n = stuck.tokens.partition_point(|token| token.end() <= at);
    let around = [n.checked_sub(1), Some(n + 1)].map(|at| at.and_then(|at| stuck.tokens.get(at)));
    let is_twin = around.iter().flatten().any(|other| other.is(old));
    let is_closer = stuck.tokens.get(n).is_some_and(is_closing);
    let is_glued = around[0].is_some_and(|before| before.end() == at);
    if old == "," {
        (at, "this comma is one too many".to_owned(), "remove it".to_owned())
    } else if is_twin && !(is_closer && is_glued) {
        (at, format!("this {old} is one too many"), "remove it".to_owned())
    } else if is_closer {
        let help = "remove it, or look for what should have opened above";
        (at, format!("this {old} closes nothing"), help.to_owned())
    } else {
        (at, format!("{old} does not belong here"), "remove it".to_owned())
    }
}

fn replaced(stuck: &Stuck<'_>, at: usize, old: &str, new: &str) -> (usize, String, String) {
    let n = stuck.tokens.partition_point(|token| token.end() <= at);
    let open = open_before(stuck.tokens, n).last().map(|open| &stuck.tokens[*open]);
    if let Some(open) = open.filter(|open| ")]}".contains(old) && closing(open) == Some(new)) {
        return (at, format!("{} is closed by {old} here", open.text), format!("close it with {new}"));
    }
    if !old.starts_with(|c: char| c.is_alphanumeric()) {
        return (at, format!("{new} stands here, not {old}"), format!("write {new} instead of {old}"));
    }
    if new.strip_suffix('_') == Some(old) {
        let message = format!("\"{old}\" is a word of the language, not a name");
        return (at, message, "choose another name for it".to_owned());
    }
    let is_small = old.eq_ignore_ascii_case(new);
    let message =
        if is_small { format!("\"{old}\" is written small") } else { format!("\"{old}\" is no word here") };
    (at, message, if is_small { format!("write {new}") } else { format!("did you mean {new}?") })
}
