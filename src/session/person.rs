use super::input::{Input, Typed};
use super::needle::Needle;
use super::saying::{SAYINGS, Saying, read_saying};
use super::screens;
use crate::console::Screen;
use crate::procedure::{Aside, Desk, Place, Shown};
use crate::quantity::Unit;
use crate::record::{Answer, Question, Told, Wants};

/// A person at the prompt, or lines in their place.
pub struct Person {
    screen: Screen,
    input: Box<dyn Input>,
    vacuum_unit: &'static Unit,
    circuit_shown: Option<String>,
    needle: Option<Needle>,
}

impl Person {
    /// Puts somebody in front of a screen.
    pub fn new(screen: Screen, input: Box<dyn Input>, vacuum_unit: &'static Unit) -> Person {
        Person { screen, input, vacuum_unit, circuit_shown: None, needle: None }
    }

    /// Lets a gauge offer the readings.
    #[must_use]
    pub fn with_needle(mut self, needle: Needle) -> Person {
        self.needle = Some(needle);
        self
    }

    /// Shows a question, and the circuit that it is about where that is new.
    pub fn pose(&mut self, question: &Question, place: &Place) {
        let circuit = place.circuit.as_ref().map(|circuit| circuit.name.clone());
        if circuit != self.circuit_shown {
            if let Some(circuit) = &place.circuit {
                screens::circuit(&mut self.screen, circuit, place, self.vacuum_unit);
            }
            self.circuit_shown = circuit;
        }
        screens::question(&mut self.screen, question);
    }

    /// Shows an answer that nobody typed here, at its prompt.
    pub fn echo(&mut self, question: &Question, line: &str) {
        self.screen.line(&format!("{}{line}", screens::prompt(question)));
    }

    /// Shows a line that helps with the next question.
    pub fn hint(&mut self, text: &str) {
        self.screen.paragraph(screens::INDENT, text);
    }

    fn answer(&mut self, question: &Question, line: &str, place: &Place) -> Option<Result<Answer, Aside>> {
        let answer = match read_saying(line) {
            Saying::Answer(text) => question.read_typed(&text),
            Saying::Cannot(reason) => {
                let answer = Answer::Unable { reason };
                question.accepts(&answer).map(|()| answer)
            }
            Saying::Aside(aside) => {
                if let Aside::Jot(_) = aside {
                    self.screen.paragraph(screens::INDENT, "Noted.");
                }
                return Some(Err(aside));
            }
            Saying::Help => {
                self.help(question);
                return None;
            }
            Saying::Progress => {
                self.screen.paragraph(screens::INDENT, &screens::progress(place));
                return None;
            }
            Saying::Incomplete(how) => {
                self.screen.paragraph(screens::INDENT, how);
                return None;
            }
        };
        match answer {
            Ok(answer) => Some(Ok(answer)),
            Err(refusal) => {
                self.screen.paragraph(screens::INDENT, &refusal.to_string());
                None
            }
        }
    }

    fn help(&mut self, question: &Question) {
        self.screen.paragraph(screens::INDENT, &screens::wanted(question));
        self.screen.paragraph(screens::INDENT, "At any time you may also type:");
        for (saying, does) in SAYINGS {
            self.screen.item(&format!("{:indent$}{saying:<14} ", "", indent = screens::INDENT), does);
        }
    }
}

/// Returns whether a stray key must not answer this question.
fn matters(question: &Question) -> bool {
    matches!(question.wants, Wants::Acknowledgement | Wants::Reading { .. } | Wants::Decision { .. })
}

impl Desk for Person {
    fn tell(&mut self, told: &Told) {
        screens::told(&mut self.screen, told);
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        self.pose(question, place);
        let offer = match (&question.wants, question.unit(), &mut self.needle) {
            (Wants::Reading { .. }, Some(unit), Some(needle)) => needle.offer(&mut self.screen, unit),
            _ => None,
        };
        if let Some(offer) = &offer {
            self.hint(&format!(
                "The gauge has settled at {}; Enter takes it, or type another value.",
                offer.text
            ));
        }
        let prompt = screens::prompt(question);
        loop {
            if self.screen.is_gone() {
                return Err(Aside::Lost("the screen is gone".to_owned()));
            }
            let typed = match &question.wants {
                Wants::Wait { seconds } => {
                    let screen = &mut self.screen;
                    let mut tick = |left: f64| screen.replace_line(&screens::seconds_left(left));
                    let typed = self.input.wait(*seconds, &mut tick);
                    if typed.is_some() {
                        self.screen.replace_line("");
                    }
                    typed
                }
                _ => None,
            };
            let typed = typed.unwrap_or_else(|| self.input.line(&prompt, matters(question)));
            match typed {
                Typed::Line { text, is_shown } => {
                    if !is_shown {
                        self.echo(question, &text);
                    }
                    if let (true, Some(offer)) = (text.trim().is_empty(), &offer) {
                        match question.read(&offer.text) {
                            Ok(Answer::Quantity { entry, .. }) => {
                                return Ok(Answer::Quantity { entry, samples: offer.samples.clone() });
                            }
                            Ok(answer) => return Ok(answer),
                            Err(refusal) => self.hint(&refusal.to_string()),
                        }
                    } else if let Some(reply) = self.answer(question, &text, place) {
                        return reply;
                    }
                }
                Typed::Left => {
                    self.screen.line("");
                    return Err(Aside::Park);
                }
                Typed::Ended => {
                    self.screen.line(&prompt);
                    return Err(Aside::Lost("there are no more answers".to_owned()));
                }
                Typed::Failed(why) => return Err(Aside::Lost(format!("nothing can be typed: {why}"))),
            }
        }
    }

    fn show(&mut self, shown: &Shown<'_>) {
        screens::shown(&mut self.screen, shown, self.vacuum_unit);
    }
}
