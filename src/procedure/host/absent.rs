use super::{Aside, Desk, Place, Shown, Walk};
use crate::air::Barometer;
use crate::leak::DEFAULT_CONFIDENCE;
use crate::quantity::UNITS;
use crate::record::{Answer, BenchState, Question, RigParts, Told, Wants};

impl Walk {
    /// Begins a walk with nobody at the desk, for a procedure that is only compiled or asked for its title.
    pub fn with_nobody() -> Walk {
        Walk::new(Box::new(Nobody), BenchState::new(RigParts::USUAL, None, DEFAULT_CONFIDENCE), &UNITS[0])
    }

    /// Begins a walk that passes over every test and answers all else as a matter of course, to see what a procedure
    /// describes.
    pub fn of_surveyor() -> Walk {
        let walk = Walk::new(Box::new(Surveyor), BenchState::exact(None), &UNITS[0]);
        walk.first_of(0, &[]).setting_the_rig_by(|_| Ok(()))
    }
}

/// A desk that answers nothing.
struct Nobody;

impl Desk for Nobody {
    fn tell(&mut self, _: &Told) {}

    fn ask(&mut self, _: &Question, _: &Place) -> Result<Answer, Aside> {
        Err(Aside::Lost("nobody is at this desk".to_owned()))
    }

    fn show(&mut self, _: &Shown<'_>) {}
}

/// A desk that finds everything as it should be.
struct Surveyor;

impl Desk for Surveyor {
    fn tell(&mut self, _: &Told) {}

    fn ask(&mut self, question: &Question, _: &Place) -> Result<Answer, Aside> {
        Ok(match &question.wants {
            Wants::Acknowledgement | Wants::Ready | Wants::Wait { .. } => Answer::Confirmed,
            Wants::Yes => Answer::Yes { yes: true },
            Wants::Choice { options } | Wants::Decision { options, .. } => {
                Answer::Choice { chosen: options.first().cloned().unwrap_or_default() }
            }
            Wants::Text | Wants::Technician => Answer::Text { text: "as it should be".to_owned() },
            Wants::Barometer => {
                Answer::Barometer { entered: "standard".to_owned(), barometer: Barometer::STANDARD }
            }
            Wants::Number { .. } | Wants::Reading { .. } => {
                Answer::Unable { reason: "only surveyed".to_owned() }
            }
        })
    }

    fn show(&mut self, _: &Shown<'_>) {}
}
