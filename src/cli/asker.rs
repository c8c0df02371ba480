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
    /// Somebody left.
    Left,
    /// There are no more lines.
    Ended,
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
            let text = self.line(&prompt)?;
            if text.is_empty() {
                return Ok(None);
            }
            match read(&text) {
                Ok(value) => return Ok(Some(value)),
                Err(why) => self.screen.paragraph(2, &why),
            }
        }
    }

    /// Asks for a line, and returns it without the blanks around it.
    pub(super) fn line(&mut self, prompt: &str) -> Result<String, Stopped> {
        let prompt = self.screen.prompt(prompt);
        match self.input.line(&prompt, false) {
            Typed::Line { text, is_shown } => {
                if !is_shown {
                    self.screen.line(&format!("{prompt}{text}"));
                }
                Ok(text.trim().to_owned())
            }
            Typed::Left => Err(Stopped::Left),
            Typed::Ended => {
                self.screen.line(&prompt);
                Err(Stopped::Ended)
            }
            Typed::Failed(why) => Err(Stopped::Failed(why)),
        }
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
