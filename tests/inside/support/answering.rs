//! Desks without a terminal: answers as a matter of course.

use crate::procedure::{Aside, Desk, Place};
use crate::record::{Answer, Asker, HoseOn, LEAVE_IT, Question, RigStep, Wants};
use crate::rig::Condition;

/// Returns what a technician types to a question of the runner's own, on a rig at sea level that stands right from the
/// start; none where the question is not of a kind that these tests know.
pub(crate) fn runner_line(question: &Question) -> Option<String> {
    let point = |condition: &Condition| match condition {
        Condition::Plugged | Condition::OtherPlug | Condition::Capped => "25".to_owned(),
        Condition::Through => "5".to_owned(),
        Condition::Open => "0".to_owned(),
    };
    Some(match &question.wants {
        Wants::Technician => "Ada".to_owned(),
        Wants::Barometer => "101325 Pa".to_owned(),
        Wants::AirTemperature => "20 C".to_owned(),
        Wants::Reading { on: HoseOn::Rig(RigStep::Set(setting)), .. } => {
            format!("{} Pa", setting.set_to_pa.si())
        }
        Wants::Reading { on: HoseOn::Rig(step), .. } => point(&step.condition()),
        Wants::Reading { on: HoseOn::Check(condition), .. } => point(condition),
        Wants::Decision { .. } => LEAVE_IT.to_owned(),
        Wants::Choice { .. } if question.asker == Asker::Runner => "1".to_owned(),
        Wants::Ready | Wants::Wait { .. } => String::new(),
        Wants::Acknowledgement => "ok".to_owned(),
        _ => return None,
    })
}

/// Returns an answer as a matter of course: yes, the first choice, a sound reading.
pub(crate) fn answer(question: &Question) -> Answer {
    let line = runner_line(question).unwrap_or_else(|| match &question.wants {
        Wants::Yes => "yes".to_owned(),
        Wants::Choice { .. } => "1".to_owned(),
        Wants::Number { .. } => "5".to_owned(),
        Wants::Reading { .. } => "22".to_owned(),
        _ => "words".to_owned(),
    });
    question.read(&line).expect("an answer that fits")
}

/// A question without a circuit, asked for the first time.
pub(crate) fn question(asker: Asker, words: &str, wants: Wants) -> Question {
    Question { asker, circuit: None, words: words.to_owned(), occurrence: 1, wants }
}

/// A desk that answers and does nothing else.
pub(crate) struct Answering<F>(pub(crate) F);

impl<F: FnMut(&Question) -> Result<Answer, Aside>> Desk for Answering<F> {
    fn ask(&mut self, question: &Question, _: &Place) -> Result<Answer, Aside> {
        self.0(question)
    }
}
