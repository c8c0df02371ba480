use std::io::{self, BufReader, Cursor};
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use super::input::{Input, Stopped, Typed};
use crate::console::{Screen, is_interactive, is_interrupted, mark_interrupts};
use crate::disk::{self, LARGEST_SETTINGS};
use crate::page::{Ask, AskKind, Board, SaidKind, Sight};
use crate::procedure::Aside;
use crate::record::yes_or_no;

/// Where questions are asked: a screen, and somebody at a terminal or the lines of a file or a pipe in their place; and
/// a page, where one is open, at which somebody may answer as well.
pub(crate) struct Prompt {
    pub screen: Screen,
    /// Where lines come from, the next one last.
    inputs: Vec<Input>,
    page: Option<Arc<Board>>,
}

/// What comes of a line.
pub(crate) enum Reply<T> {
    /// It settles the question.
    Done(T),
    /// It does not, for this reason; the question is asked again.
    Refused(String),
    /// It was something else, and what there is to say to it stands on the screen; the question is asked again.
    Told,
}

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
    pub(crate) fn new(screen: Screen, input: Input) -> Prompt {
        Prompt { screen, inputs: vec![input], page: None }
    }

    /// Opens the prompt: lines of a file first, then the terminal, or standard input's lines where nobody sits there.
    pub(crate) fn open(answers: Option<&Path>) -> Result<Prompt, Stopped> {
        let input = if is_interactive() {
            // Without a handler Ctrl-C ends the program at once, which loses nothing but the farewell.
            let _ = mark_interrupts();
            Input::terminal()?
        } else {
            Input::lines(BufReader::new(io::stdin()))
        };
        let mut prompt = Prompt::new(Screen::stdout(), input);
        if let Some(path) = answers {
            let failed = |error| Stopped::Failed(format!("{}: {error}", path.display()));
            prompt
                .inputs
                .push(Input::lines(Cursor::new(disk::read(path, LARGEST_SETTINGS).map_err(failed)?)));
        }
        Ok(prompt)
    }

    /// Opens a page beside the terminal: what is said and asked is shown there, and may be answered there.
    pub(crate) fn with_page(mut self, page: Arc<Board>) -> Result<Prompt, Stopped> {
        self.screen.heard_by(page.listener());
        // Only the last source is somebody who may be waited for; before it come the lines of a file.
        if let Some(last) = (!self.inputs.is_empty()).then(|| self.inputs.remove(0)) {
            self.inputs.insert(0, last.beside(&page)?);
        }
        Ok(Prompt { page: Some(page), ..self })
    }

    pub(crate) fn page(&self) -> Option<&Arc<Board>> {
        self.page.as_ref()
    }

    /// Puts a question on the page, with whatever else changes there.
    pub(crate) fn pose(&self, ask: Ask, change: impl FnOnce(&mut Sight)) {
        let Some(page) = &self.page else { return };
        let kind = if ask.kind == AskKind::Caution { SaidKind::Caution } else { SaidKind::Asked };
        page.say(kind, &ask.words);
        page.pose(|sight| {
            sight.ask = Some(ask);
            change(sight);
        });
    }

    /// Asks until `reply` makes something of the line that was typed. With `afresh`, what was typed before the question
    /// does not answer it.
    pub(crate) fn ask<T>(
        &mut self,
        prompt: &str,
        afresh: bool,
        mut reply: impl FnMut(&mut Screen, &str) -> Reply<T>,
    ) -> Result<T, Stopped> {
        loop {
            let line = self.line(prompt, afresh)?;
            let line = line.trim();
            let replied = match line.contains('\n') {
                true => Reply::Refused(MORE_LINES.to_owned()),
                false => reply(&mut self.screen, line),
            };
            match replied {
                Reply::Done(answer) => return Ok(answer),
                Reply::Refused(why) => self.refuse(indent(prompt), &why),
                Reply::Told => {}
            }
        }
    }

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

    /// Lets a span of time pass, in seconds, where somebody waits at a terminal, and shows how much is left; returns
    /// whether it has passed.
    pub(crate) fn wait(&mut self, seconds: f64, left: fn(f64) -> String) -> Result<bool, Stopped> {
        if !self.inputs.last().is_some_and(Input::is_somebody) {
            return Ok(false);
        }
        let begun = Instant::now();
        loop {
            let still = seconds - begun.elapsed().as_secs_f64();
            if self.page.as_ref().is_some_and(|page| page.has_line()) {
                self.screen.replace_line("");
                return Ok(false);
            }
            if is_interrupted() {
                self.screen.replace_line("");
                self.screen.line("");
                return Err(Stopped::Left);
            }
            if still <= 0.0 {
                self.screen.replace_line("");
                self.settle();
                return Ok(true);
            }
            self.screen.replace_line(&left(still));
            if let Some(page) = &self.page {
                page.amend(|ask| ask.seconds = Some(still.ceil()));
            }
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    fn refuse(&mut self, indent: usize, why: &str) {
        self.screen.unheard(|screen| screen.paragraph(indent, why));
        if let Some(page) = &self.page {
            page.refuse(why);
        }
    }

    /// Returns the next line; one that nobody typed here is shown behind its prompt.
    fn line(&mut self, prompt: &str, afresh: bool) -> Result<String, Stopped> {
        if self.screen.is_gone() {
            return Err(Stopped::Failed("the screen is gone".to_owned()));
        }
        let indent = indent(prompt);
        let prompt = self.screen.prompt(prompt);
        let Some(page) = self.page.clone() else {
            loop {
                match self.typed(&prompt, afresh) {
                    Ok(Some(typed)) => return Ok(typed.text),
                    Ok(None) => {}
                    Err(why) => {
                        match why {
                            Stopped::Left => self.screen.line(""),
                            Stopped::Ended => self.screen.line(&prompt),
                            Stopped::Failed(_) => {}
                        }
                        return Err(why);
                    }
                }
            }
        };
        page.ask();
        loop {
            if let (true, Some(Input::Plain(terminal))) = (page.has_something(), self.inputs.last_mut())
                && terminal.leaves()
            {
                self.screen.line("");
            }
            for notice in page.take_notices() {
                self.screen.unheard(|screen| screen.say(&notice));
            }
            // The lines of a file come first.
            let is_file = matches!(self.inputs.last(), Some(Input::Lines(_)));
            if !is_file && let Some(text) = page.take() {
                return Ok(self.of_page(&page, indent, text));
            }
            match self.typed(&prompt, afresh) {
                Ok(Some(typed)) if typed.is_stale => {
                    self.screen.unheard(|screen| screen.paragraph(indent, BEGUN_BEFORE));
                }
                Ok(Some(Typed { text, .. })) => {
                    self.settle();
                    page.say(SaidKind::AtTerminal, &text);
                    return Ok(text);
                }
                // It was called back.
                Err(Stopped::Left) if page.has_something() => {
                    if let (false, Some(Input::Terminal(terminal))) =
                        (page.has_line(), self.inputs.last_mut())
                    {
                        terminal.types_on();
                    }
                }
                Err(Stopped::Left) => {
                    self.screen.line("");
                    return Err(Stopped::Left);
                }
                // Whoever sits at the page goes on alone.
                Ok(None) | Err(Stopped::Ended) => page.wait(PATIENCE),
                Err(why) => return Err(why),
            }
        }
    }

    /// Takes no more lines of the page for what was asked.
    fn settle(&mut self) {
        if let Some(late) = self.page.as_ref().and_then(|page| page.settled()) {
            self.screen.paragraph(2, &format!("page: {late} (too late: this was settled)"));
        }
    }

    fn typed(&mut self, prompt: &str, afresh: bool) -> Result<Option<Typed>, Stopped> {
        while let Some(input) = self.inputs.last_mut() {
            if let Input::Plain(terminal) = input
                && terminal.begins(afresh)
            {
                self.screen.ask(prompt);
            }
            match input.line(prompt, afresh) {
                Ok(Some(typed)) => {
                    if !input.is_somebody() {
                        self.screen.line(&format!("{prompt}{}", typed.text));
                    }
                    return Ok(Some(typed));
                }
                Err(Stopped::Ended) => _ = self.inputs.pop(),
                nothing => return nothing,
            }
        }
        Err(Stopped::Ended)
    }

    /// Shows a line that was typed on the page.
    fn of_page(&mut self, page: &Board, indent: usize, text: String) -> String {
        if let Some(input) = self.inputs.last_mut() {
            input.is_late();
        }
        page.say(SaidKind::OnPage, &text);
        let shown = if text.trim().is_empty() { "Enter" } else { &text };
        self.screen.line(&format!("{:indent$}page: {shown}", ""));
        text
    }
}

/// How long the page is waited for before it is looked whether there is something to say.
const PATIENCE: Duration = Duration::from_millis(100);

const BEGUN_BEFORE: &str = "This line was begun before the page answered, so it is not taken. Type it again where it is meant for this.";

const MORE_LINES: &str =
    "That is more than one line, and nothing of it is taken: one question takes one line.";

pub(crate) fn yes_no(text: &str) -> Result<bool, String> {
    yes_or_no(text).ok_or_else(|| "Type yes or no.".to_owned())
}

/// What a typed line is: an answer, or one of the words that are always understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Saying {
    Answer(String),
    /// Something else that ends the question.
    Aside(Aside),
    /// `again`, and the name of something; no word of a session, but of a draft.
    AgainOf(String),
    /// `cannot`: the step can't be done, for a reason.
    Cannot(String),
    /// `not fitted`: the unit does not have the circuit under test, and by what that is known.
    NotFitted(String),
    Help,
    /// `progress`: where in the procedure this is.
    Progress,
    /// `more`: all that the last reading says.
    More,
    /// `photo`: a file, and what it shows.
    Photo(String),
    /// One of the words, but not complete; the text says how it is written.
    Incomplete(&'static str),
}

/// The words that are always understood, and what they do.
pub(crate) const SAYINGS: &[(&str, &str)] = &[
    ("help", "or ?: this list, and what is wanted here"),
    ("progress", "where you are and what is left"),
    ("more", "all that the last reading says: hole, scale, advice"),
    ("back", "undo the last answer; back 3 undoes three"),
    ("again", "take the last answer again and keep the rest; again 3 takes the third last"),
    ("jot TEXT", "put a note into the record"),
    ("photo FILE", "put a photo into the record; what it shows may stand behind it"),
    ("technician NAME", "somebody else tests from here on; the record says who read what"),
    ("cannot REASON", "this step can't be done; the record says why"),
    ("not fitted WHY", "this unit does not have this circuit; the record says by what you know"),
    ("park", "stop here; a session keeps everything, and it is told how to go on with it"),
];

/// The most answers that are undone at once.
const FARTHEST_BACK: usize = 9;

/// Reads a line as typed. A text in double quotes is always an answer; where free text is asked for, only a whole line
/// that is one of the short words is taken for that word.
pub(crate) fn read_saying(line: &str) -> Saying {
    let line = line.trim();
    if let Some(quoted) = line.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'))
        && !quoted.is_empty()
        && !quoted.contains('"')
    {
        return Saying::Answer(quoted.to_owned());
    }
    let split = |line: &str| {
        line.split_once(char::is_whitespace).map(|(word, rest)| (word.to_owned(), rest.trim().to_owned()))
    };
    let (mut word, mut rest) = split(line).unwrap_or_else(|| (line.to_owned(), String::new()));
    if word.eq_ignore_ascii_case("not") && rest.to_lowercase().starts_with("fitted") {
        word = "not fitted".to_owned();
        rest = rest["fitted".len()..].trim().to_owned();
    }
    let steps =
        if rest.is_empty() { Some(1) } else { rest.parse().ok().filter(|n| (1..=10_000).contains(n)) };
    match (word.to_lowercase().as_str(), rest.is_empty(), steps) {
        ("help" | "?", true, _) => Saying::Help,
        ("progress", true, _) => Saying::Progress,
        ("more", true, _) => Saying::More,
        ("park", true, _) => Saying::Aside(Aside::Park),
        ("back", _, Some(steps)) if steps > FARTHEST_BACK => {
            Saying::Incomplete("At most nine answers at once, lest a slip of a key undo the session: back 9")
        }
        ("back", _, Some(steps)) => Saying::Aside(Aside::Back(steps)),
        ("again", _, Some(steps)) => Saying::Aside(Aside::Again(steps)),
        ("again", ..) => Saying::AgainOf(rest.to_owned()),
        ("jot", false, _) => Saying::Aside(Aside::Jot(rest.to_owned())),
        ("jot", true, _) => Saying::Incomplete("Write the note behind it: jot plate is nicked at port 3A"),
        ("photo", false, _) => Saying::Photo(rest),
        ("photo", true, _) => {
            Saying::Incomplete("Write its file behind it, or drop the file here: photo bore.jpg")
        }
        ("technician", false, _) => Saying::Aside(Aside::TakenOver(rest)),
        ("technician", true, _) => {
            Saying::Incomplete("Write who tests from here on behind it: technician Mo")
        }
        ("cannot", false, _) => Saying::Cannot(rest.to_owned()),
        ("cannot", true, _) => Saying::Incomplete("Write the reason behind it: cannot no plate for port 3A"),
        ("not fitted", false, _) => Saying::NotFitted(rest),
        ("not fitted", true, _) => {
            Saying::Incomplete("Write behind it by what you know: not fitted this body has no lockup valve")
        }
        _ => Saying::Answer(line.to_owned()),
    }
}

/// Said above the words that are always understood.
pub(crate) const ALSO: &str = "At any question you may also type:";

/// Lists words that may be typed, with what each does.
pub(crate) fn list_words(screen: &mut Screen, indent: usize, heading: &str, words: &[(&str, &str)]) {
    screen.paragraph(indent, heading);
    let listed = || words.iter().filter(|(_, does)| !does.is_empty());
    let width = listed().map(|(word, _)| word.len()).max().unwrap_or_default();
    for (word, does) in listed() {
        screen.item(&format!("{:indent$}{word:<width$}  ", ""), does);
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

/// Returns how far in what is said to a question stands: as far as the question, and two columns at least.
fn indent(prompt: &str) -> usize {
    (prompt.len() - prompt.trim_start().len()).max(2)
}
