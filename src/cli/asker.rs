use super::status::Failure;
use super::walking::input;
use crate::console::Screen;
use crate::session::{Input, Typed};

/// Asks for one thing after another at the prompt, or takes the lines of a pipe in their place.
pub(super) struct Asker<'a> {
    /// Where it is asked.
    pub(super) screen: &'a mut Screen,
    input: Box<dyn Input>,
}

/// Why nothing more can be asked.
#[derive(Debug)]
pub(super) enum Stopped {
    /// Somebody left, or there are no more lines.
    Left,
    /// The terminal failed.
    Failed(String),
}

impl<'a> Asker<'a> {
    /// Opens the prompt.
    pub(super) fn open(screen: &'a mut Screen) -> Result<Asker<'a>, Failure> {
        Ok(Asker { screen, input: input(None)? })
    }

    /// Asks until the answer can be read; an empty one keeps what there is, which stands in brackets where it is anything.
    pub(super) fn ask<T>(
        &mut self,
        words: &str,
        now: &str,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Result<Option<T>, Stopped> {
        let prompt = if now.is_empty() { format!("{words}: ") } else { format!("{words} [{now}]: ") };
        loop {
            match self.input.line(&prompt, false) {
                Typed::Line { text, is_shown } => {
                    if !is_shown {
                        self.screen.line(&format!("{prompt}{text}"));
                    }
                    if text.trim().is_empty() {
                        return Ok(None);
                    }
                    match read(text.trim()) {
                        Ok(value) => return Ok(Some(value)),
                        Err(why) => self.screen.paragraph(2, &why),
                    }
                }
                Typed::Left | Typed::Ended => return Err(Stopped::Left),
                Typed::Failed(why) => return Err(Stopped::Failed(why)),
            }
        }
    }

    /// Asks for yes or no.
    pub(super) fn yes(&mut self, words: &str, now: bool) -> Result<bool, Stopped> {
        let answer = self.ask(words, if now { "yes" } else { "no" }, yes_no)?;
        Ok(answer.unwrap_or(now))
    }
}

/// Reads yes or no.
pub(super) fn yes_no(text: &str) -> Result<bool, String> {
    match text.to_lowercase().as_str() {
        "y" | "yes" => Ok(true),
        "n" | "no" => Ok(false),
        _ => Err("type yes or no".to_owned()),
    }
}
