//! Questions as commands ask them, with what Enter alone does.

use super::prompt::indent;
use super::saying::{ALSO, list_words};
use super::{Prompt, Reply, Saying, Stopped, read_saying};
use crate::console::Screen;
use crate::page::{Ask, AskKind};
use crate::procedure::Aside;
use crate::record::yes_or_no;

/// A question with what Enter alone does, as commands ask it.
#[derive(Clone, Copy)]
pub(crate) struct Plain<'a> {
    pub words: &'a str,
    pub enter: Enter<'a>,
    /// What may be typed, and what it is for.
    pub help: &'a str,
}

/// What Enter alone does at a question.
#[derive(Clone, Copy)]
pub(crate) enum Enter<'a> {
    /// It takes this, which stands in brackets, and which can be typed as well.
    Takes(&'a str),
    /// It takes this, which was answered before.
    TakesAgain(&'a str),
    /// Nothing; says what to do.
    Refused(&'a str),
    /// It says no to something that matters, so what was typed before the question does not answer it.
    Declines,
}

/// What was said at a plain question.
pub(crate) enum Said<T> {
    /// Enter alone, or what it takes.
    Enter,
    Answer(T),
    /// One of the other words that are understood there.
    Word(Saying),
}

/// The longest text that is shown in brackets.
const SHORT: usize = 40;

impl Prompt {
    /// Asks a plain question, at which `help`, `park` and these other words are understood, each with what it does; one
    /// of which that says nothing is not listed.
    pub(crate) fn ask_plainly<T>(
        &mut self,
        question: &Plain<'_>,
        others: &[(&str, &str)],
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Result<Said<T>, Stopped> {
        let Plain { words, enter, .. } = question;
        let indent = indent(words);
        let brackets = match *enter {
            Enter::Takes(now) | Enter::TakesAgain(now) if now.chars().count() <= SHORT => Some(now),
            Enter::Takes(now) => {
                self.screen.paragraph(indent, &format!("Now: {now}"));
                Some("as it is")
            }
            Enter::TakesAgain(before) => {
                self.screen.paragraph(indent, &format!("Answered before: {before}"));
                Some("as before")
            }
            Enter::Refused(_) | Enter::Declines => None,
        };
        let prompt = brackets.map_or(format!("{words}: "), |brackets| format!("{words} [{brackets}]: "));
        let ask = Ask {
            kind: AskKind::Text,
            words: words.trim().to_owned(),
            wanted: "words".to_owned(),
            help: question.help.to_owned(),
            enter: brackets.map(str::to_owned),
            ..Ask::default()
        };
        self.pose(ask, |_| {});
        let is_understood = |line: &str| {
            let word = line.split_whitespace().next().unwrap_or_default();
            let mut known = others.iter().filter_map(|(known, _)| known.split(' ').next());
            word.eq_ignore_ascii_case("park") || known.any(|known| known.eq_ignore_ascii_case(word))
        };
        let answer = |line: &str| match (line, enter) {
            ("", Enter::Refused(why)) => Reply::Refused((*why).to_owned()),
            ("", _) => Reply::Done(Said::Enter),
            _ if brackets.is_some_and(|shown| line.eq_ignore_ascii_case(shown)) => Reply::Done(Said::Enter),
            _ => read(line).map_or_else(Reply::Refused, |answer| Reply::Done(Said::Answer(answer))),
        };
        let said =
            self.ask(&prompt, matches!(enter, Enter::Declines), |screen, line| match read_saying(line) {
                Saying::Help => {
                    help(screen, indent, question, others);
                    Reply::Told
                }
                // In a list, quotes keep together what has a comma.
                Saying::Answer(text) => answer(if text.contains([',', ';']) { line } else { &text }),
                saying if is_understood(line) => Reply::Done(Said::Word(saying)),
                _ => answer(line),
            })?;
        match said {
            Said::Word(Saying::Aside(Aside::Park)) => Err(Stopped::Left),
            said => Ok(said),
        }
    }
}

fn help(screen: &mut Screen, indent: usize, question: &Plain<'_>, others: &[(&str, &str)]) {
    screen.paragraph(indent, question.help);
    if let Enter::Takes(_) | Enter::TakesAgain(_) = question.enter {
        screen.paragraph(indent, "Enter alone takes what stands in brackets.");
    }
    if !others.is_empty() {
        list_words(screen, indent, ALSO, others);
        screen.paragraph(indent, "A text that is one of these words goes in double quotes.");
    }
}

pub(crate) fn yes_no(text: &str) -> Result<bool, String> {
    yes_or_no(text).ok_or_else(|| "Type yes or no.".to_owned())
}
