use std::io::{self, BufReader, Cursor};
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use super::input::{Input, Stopped, Typed};
use crate::console::{Screen, is_interactive, is_interrupted, mark_interrupts};
use crate::disk::{self, LARGEST_SETTINGS};
use crate::page::{Ask, AskKind, Board, SaidKind, Sight};

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
    /// It can hardly be meant: this is asked back, and the question is asked again.
    Doubted(String),
    /// It was something else, and what there is to say to it stands on the screen; the question is asked again.
    Told,
}

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
                Reply::Refused(why) => self.mind(indent(prompt), &why, Board::refuse),
                Reply::Doubted(why) => self.mind(indent(prompt), &why, Board::doubt),
                Reply::Told => {}
            }
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

    /// Says why a line does not count, and has the page show it in its own way.
    fn mind(&mut self, indent: usize, why: &str, show: fn(&Board, &str)) {
        self.screen.unheard(|screen| screen.paragraph(indent, why));
        if let Some(page) = &self.page {
            show(page, why);
        }
    }

    /// Returns the next line; one that nobody typed here is shown behind its prompt.
    fn line(&mut self, prompt: &str, afresh: bool) -> Result<String, Stopped> {
        if self.screen.is_gone() {
            return Err(Stopped::Failed("the screen is gone".to_owned()));
        }
        let indent = indent(prompt);
        let prompt = self.screen.prompt(prompt);
        match self.page.clone() {
            Some(page) => self.line_beside(&page, &prompt, indent, afresh),
            None => self.line_alone(&prompt, afresh),
        }
    }

    fn line_alone(&mut self, prompt: &str, afresh: bool) -> Result<String, Stopped> {
        loop {
            match self.typed(prompt, afresh) {
                Ok(Some(typed)) => return Ok(typed.text),
                Ok(None) => {}
                Err(why) => {
                    match why {
                        Stopped::Left => self.screen.line(""),
                        Stopped::Ended => self.screen.line(prompt),
                        Stopped::Failed(_) => {}
                    }
                    return Err(why);
                }
            }
        }
    }

    /// Returns the next line, where somebody at a page may answer as well.
    fn line_beside(
        &mut self,
        page: &Board,
        prompt: &str,
        indent: usize,
        afresh: bool,
    ) -> Result<String, Stopped> {
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
                return Ok(self.of_page(page, indent, text));
            }
            match self.typed(prompt, afresh) {
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

/// Returns how far in what is said to a question stands: as far as the question, and two columns at least.
pub(super) fn indent(prompt: &str) -> usize {
    (prompt.len() - prompt.trim_start().len()).max(2)
}
