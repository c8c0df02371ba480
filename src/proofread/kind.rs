use super::ladder::Ladder;
use crate::leak::Verdict;
use crate::procedure::Place;
use crate::quantity::Unit;
use crate::record::{Answer, Question, Wants};

/// A kind of answer: all answers of one kind lead the same way, as far as a procedure can tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) enum Kind {
    /// Confirmed, or free words.
    Done,
    /// Yes.
    Yes,
    /// No.
    No,
    /// One of the choices, by its place.
    Pick(usize),
    /// A number within its limits.
    Within,
    /// A number below its lower limit.
    Low,
    /// A number above its upper limit.
    High,
    /// A reading with this verdict.
    Holds,
    /// A reading with this verdict.
    Worn,
    /// A reading with this verdict.
    Leaks,
    /// A reading that allows no verdict.
    Retest,
    /// A reading of a circuit without limits.
    Unjudged,
    /// A reading at this rung of the scale.
    Rung(usize),
    /// It can't be done.
    Cannot,
}

impl Kind {
    /// Returns whether it is tried in every combination of two with answers near it: a script can tell it from other
    /// answers to the same question and goes on, and there are few of its like.
    pub(super) fn decides(self) -> bool {
        !matches!(self, Kind::Done | Kind::Cannot | Kind::Rung(_))
    }

    /// Returns the kind of a reading with this verdict.
    pub(super) fn of(verdict: Verdict) -> Kind {
        match verdict {
            Verdict::Holds => Kind::Holds,
            Verdict::Worn => Kind::Worn,
            Verdict::Leaks => Kind::Leaks,
            Verdict::Retest => Kind::Retest,
            Verdict::Unjudged => Kind::Unjudged,
        }
    }
}

/// Returns every kind of answer that a question of a procedure's may get, each as it would be typed; the plainest first.
pub(super) fn kinds(question: &Question, place: &Place, ladder: &mut Ladder) -> Vec<(Kind, String)> {
    let mut kinds = match &question.wants {
        Wants::Acknowledgement => vec![(Kind::Done, "ok".to_owned())],
        Wants::Ready => vec![(Kind::Done, "done".to_owned())],
        Wants::Wait { .. } => vec![(Kind::Done, String::new())],
        Wants::Yes => vec![(Kind::Yes, "yes".to_owned()), (Kind::No, "no".to_owned())],
        Wants::Choice { options } | Wants::Decision { options, .. } => {
            (0..options.len()).map(|n| (Kind::Pick(n), (n + 1).to_string())).collect()
        }
        Wants::Text | Wants::Technician => vec![(Kind::Done, "proofread".to_owned())],
        Wants::Barometer => vec![(Kind::Done, "101.325 kPa".to_owned())],
        Wants::Number { low, high, .. } => numbers(*low, *high, question.unit()),
        Wants::Reading { .. } => match &place.circuit {
            Some(circuit) => ladder.readings(circuit.limits.as_ref()),
            None => Vec::new(),
        },
    };
    let reason = Answer::Unable { reason: CANNOT.to_owned() };
    if question.accepts(&reason).is_ok() {
        kinds.push((Kind::Cannot, format!("cannot {CANNOT}")));
    }
    kinds
}

const CANNOT: &str = "proofread";

fn numbers(low: Option<f64>, high: Option<f64>, unit: Option<&'static Unit>) -> Vec<(Kind, String)> {
    let Some(unit) = unit else { return Vec::new() };
    let (low, high) = (low.map(|si| unit.from_si(si)), high.map(|si| unit.from_si(si)));
    let margin = |limit: f64| if limit == 0.0 { 1.0 } else { limit.abs() * 0.1 };
    let within = match (low, high) {
        (Some(low), Some(high)) => f64::midpoint(low, high),
        (Some(low), None) => low + margin(low),
        (None, Some(high)) => high - margin(high),
        (None, None) => 1.0,
    };
    let typed = |number: f64| format!("{} {}", (number * 1e6).round() / 1e6, unit.symbol);
    let mut kinds = vec![(Kind::Within, typed(within))];
    kinds.extend(low.map(|low| (Kind::Low, typed(low - margin(low)))));
    kinds.extend(high.map(|high| (Kind::High, typed(high + margin(high)))));
    kinds
}
