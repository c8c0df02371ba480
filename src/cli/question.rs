use super::status::Failure;
use super::walking::input;
use crate::session::{Input, Typed};

/// Asks somebody at the terminal; `None` where they leave.
pub(super) fn ask(prompt: &str) -> Result<Option<String>, Failure> {
    let mut input: Box<dyn Input> = input(None)?;
    match input.line(prompt, true) {
        Typed::Line { text, .. } => Ok(Some(text.trim().to_owned())),
        Typed::Failed(why) => Err(Failure::wrong(format!("nothing can be typed: {why}"))),
        _ => Ok(None),
    }
}
