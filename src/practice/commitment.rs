//! What a student commits to at the end of a circuit's test, before anything is said of it.

use crate::leak::Verdict;
use crate::quantity::shown;
use crate::record::{Answer, Asker, Cause, Circuit, Event, LEAVE_IT, Question, REPLACE, Wants, What};

/// What is asked, in this order; all but the verdict and how sure only where it is not sound.
pub(crate) const VERDICT: &str = "Your verdict?";
pub(crate) const SURE: &str = "How sure are you of it?";
pub(crate) const CAUSE: &str = "The cause?";
pub(crate) const PLACE: &str = "At which reading does it show?";
pub(crate) const REPAIR: &str = "What is to be done?";
/// Where a defect shows at every reading.
pub(crate) const EVERYWHERE: &str = "at all of them";

/// How sure a student can be, in words and as a probability.
pub(crate) const SURENESS: [(&str, f64); 6] = [
    ("50 %, a guess", 0.5),
    ("60 %", 0.6),
    ("70 %", 0.7),
    ("80 %", 0.8),
    ("90 %", 0.9),
    ("99 %, certain", 0.99),
];

/// What hands can do without parts, beside the repairs of the procedure.
const DRESS: &str = "dress the face on a flat stone";
const FREE: &str = "clean the bore and free the valve";
const FIND_BALL: &str = "fit the missing check ball";

/// Returns what can be done about a circuit here.
pub(crate) fn repairs(circuit: &Circuit) -> Vec<String> {
    let own = circuit.repairs.iter().map(|repair| repair.does.clone());
    own.chain([DRESS, FREE, FIND_BALL, REPLACE, LEAVE_IT].map(str::to_owned)).collect()
}

/// Returns whether a repair puts right what is wrong with a circuit.
pub(crate) fn is_right(repair: &str, cause: Cause, circuit: &Circuit) -> bool {
    match cause {
        Cause::Nick => repair == DRESS,
        Cause::StuckValve => repair == FREE,
        Cause::MissingBall => repair == FIND_BALL,
        _ if circuit.repairs.is_empty() => repair == REPLACE,
        _ => circuit.repairs.iter().any(|own| own.does == repair),
    }
}

/// Says what puts right what is wrong with a circuit.
pub(crate) fn right_repair(cause: Cause, circuit: &Circuit) -> String {
    let all = repairs(circuit);
    all.into_iter().find(|repair| is_right(repair, cause, circuit)).unwrap_or_else(|| REPLACE.to_owned())
}

/// What a student committed to about one circuit.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Commitment {
    pub circuit: String,
    pub verdict: Verdict,
    /// How probable they said it was that they were right.
    pub sure: f64,
    pub cause: Option<Cause>,
    pub place: Option<String>,
    pub repair: Option<String>,
}

impl Commitment {
    pub(crate) fn is_sound(&self) -> bool {
        self.verdict.is_sound()
    }

    /// Says what was committed to, as it stands behind who did.
    pub(crate) fn told(&self) -> String {
        let cause = self.cause.map(|cause| format!(", {}", cause.words())).unwrap_or_default();
        let place = self.place.as_ref().map(|place| format!(" ({place})")).unwrap_or_default();
        let repair = self.repair.as_ref().map(|repair| format!("; {repair}")).unwrap_or_default();
        format!("said: {}{cause}{place}{repair}, {} % sure", self.verdict, shown(100.0 * self.sure, 0))
    }

    /// Reads what was committed to out of the events that gave the answers of a walk.
    pub(crate) fn all<'a>(answers: impl Iterator<Item = &'a Event>) -> Vec<Commitment> {
        let mut all: Vec<Commitment> = Vec::new();
        for event in answers {
            let What::Answered { question, answer: Answer::Choice(chosen) } = &event.what else {
                continue;
            };
            let (Some(circuit), true) = (&question.circuit, is_asked_by_runner(question)) else { continue };
            if question.words == VERDICT {
                let verdict = Verdict::ALL.into_iter().find(|verdict| verdict.word() == chosen);
                let circuit = circuit.clone();
                let verdict = verdict.unwrap_or(Verdict::Unjudged);
                all.push(Commitment { circuit, verdict, sure: 0.5, cause: None, place: None, repair: None });
            }
            let Some(now) = all.iter_mut().rev().find(|known| known.circuit == *circuit) else { continue };
            match question.words.as_str() {
                SURE => {
                    let sure = SURENESS.into_iter().find(|(words, _)| words == chosen);
                    now.sure = sure.map_or(0.5, |(_, probability)| probability);
                }
                CAUSE => now.cause = Cause::OF_CIRCUITS.into_iter().find(|cause| cause.words() == chosen),
                PLACE => now.place = Some(chosen.clone()).filter(|place| place != EVERYWHERE),
                REPAIR => now.repair = Some(chosen.clone()),
                _ => {}
            }
        }
        all
    }
}

fn is_asked_by_runner(question: &Question) -> bool {
    question.asker == Asker::Runner && matches!(question.wants, Wants::Choice { .. })
}
