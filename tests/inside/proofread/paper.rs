//! Whoever answers at random, and a worksheet filled in with these answers: what it says is to come must be what came.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use crate::procedure::{Aside, Desk, Place, Program, RunnersPart, SHIPPED, Shown, Trail, Walk};
use crate::proofread::worksheet;
use crate::quantity::{INCH_OF_MERCURY, UNITS};
use crate::record::{Answer, Asker, BenchState, HoseOn, Question, Told, Wants};
use crate::tests::support::Draws;

/// What happened on a walk: in which circuit, with which words, and for a question how it was answered.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Happened {
    circuit: Option<String>,
    words: String,
    answer: Option<String>,
}

/// A desk that picks one of several answers by a given rule, and keeps what happened.
pub(super) struct Picking<P> {
    pub(super) pick: P,
    pub(super) happened: Rc<RefCell<Vec<Happened>>>,
    again: Option<String>,
}

impl<P: FnMut(usize) -> usize> Picking<P> {
    pub(super) fn new(pick: P, happened: Rc<RefCell<Vec<Happened>>>) -> Picking<P> {
        Picking { pick, happened, again: None }
    }

    /// Returns what can be typed, each with what a form says of it.
    fn ways(question: &Question, place: &Place) -> Vec<(String, String)> {
        let way = |typed: &str, said: &str| (typed.to_owned(), said.to_owned());
        match &question.wants {
            Wants::Acknowledgement => vec![way("ok", "")],
            Wants::Yes => vec![way("yes", "is yes"), way("no", "is no")],
            Wants::Choice { options } | Wants::Decision { options, .. } => {
                options.iter().map(|option| (option.clone(), format!("is \"{option}\""))).collect()
            }
            Wants::Number { low, high, .. } => {
                let unit = question.unit().expect("a unit");
                let typed = |si: f64| format!("{} {}", unit.from_si(si), unit.symbol);
                let step = |si: f64| 0.03 * si.abs().max(1e-3);
                match (low, high) {
                    (None, None) => vec![way("1", "is within its limits")],
                    _ => {
                        let inside = match (low, high) {
                            (Some(low), Some(high)) => f64::midpoint(*low, *high),
                            (Some(low), None) => low + step(*low),
                            (_, high) => high.map_or(1.0, |high| high - step(high)),
                        };
                        let mut ways = vec![(typed(inside), "is within its limits".to_owned())];
                        ways.extend(low.map(|low| (typed(low - step(low)), "is below them".to_owned())));
                        ways.extend(high.map(|high| (typed(high + step(high)), "is above them".to_owned())));
                        ways
                    }
                }
            }
            Wants::Reading { .. } => match place.spot(question).limits {
                Some(limits) => {
                    let in_hg = |si: f64| si / INCH_OF_MERCURY;
                    let (holds, leaks) = (in_hg(limits.upper().si()), in_hg(limits.lower().si()));
                    [(holds + 25.0) / 2.0, f64::midpoint(holds, leaks), leaks * 0.6, holds]
                        .map(|reading| (format!("{reading} inHg"), String::new()))
                        .to_vec()
                }
                None => vec![way("20 inHg", "was read")],
            },
            Wants::Text | Wants::Technician => vec![way("words", "")],
            Wants::Barometer => vec![way("101.325 kPa", "")],
            Wants::AirTemperature => vec![way("20 C", "")],
            Wants::Ready | Wants::Wait { .. } => vec![way("", "")],
        }
    }
}

impl<P: FnMut(usize) -> usize> Desk for Picking<P> {
    fn tell(&mut self, told: &Told) {
        let (circuit, words) = match told {
            Told::Found { circuit, text } => (circuit.clone(), text.clone()),
            Told::Began { .. } | Told::Ended { .. } => return self.again = None,
            _ => return,
        };
        self.happened.borrow_mut().push(Happened { circuit, words, answer: None });
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        let is_reading = matches!(question.wants, Wants::Reading { on: HoseOn::Circuit { .. }, .. });
        let ways = Self::ways(question, place);
        let typed = match self.again.clone().filter(|_| is_reading) {
            Some(again) => again,
            None => {
                let way = if ways.len() > 1 { (self.pick)(ways.len()) } else { 0 };
                let (typed, said) = ways[way].clone();
                if question.asker == Asker::Procedure {
                    self.happened.borrow_mut().push(Happened {
                        circuit: question.circuit.clone(),
                        words: question.words.clone(),
                        answer: Some(said),
                    });
                }
                typed
            }
        };
        self.again = if is_reading { Some(typed.clone()) } else { self.again.take() };
        question.read(&typed).map_err(|refusal| Aside::Lost(refusal.to_string()))
    }

    fn show(&mut self, shown: &Shown<'_>) {
        if let Shown::Judged { outcome, more: false, .. } = shown {
            self.again = None;
            let said = match outcome.verdict().to_string().as_str() {
                verdict @ ("holds" | "leaks") => verdict.to_owned(),
                "not judged" => "was read".to_owned(),
                verdict => format!("is {verdict}"),
            };
            let happened = &mut *self.happened.borrow_mut();
            let reading = happened.iter_mut().rev().find(|happened| happened.answer.as_deref() == Some(""));
            if let Some(reading) = reading {
                reading.answer = Some(said);
            }
        }
    }
}

/// Walks a procedure on an exact bench, without the tests of the circuits that are left out.
pub(super) fn walked(
    program: &Program,
    pick: impl FnMut(usize) -> usize + 'static,
    trail: &Trail,
) -> Vec<Happened> {
    let happened = Rc::new(RefCell::new(Vec::new()));
    let desk = Box::new(Picking::new(pick, Rc::clone(&happened)));
    let walk = Walk::new(desk, BenchState::exact(None), &UNITS[0]);
    let ended = program.run(
        walk.with_runner(RunnersPart { set_rig: |_| Ok(()), close: |_| Ok(()), commit: None })
            .leaving(trail.clone()),
    );
    assert!(ended.is_ok(), "the procedure stopped: {:?}", ended.err());
    happened.take()
}

/// One field of a worksheet.
#[derive(Debug)]
pub(super) struct Field {
    circuit: Option<String>,
    number: usize,
    text: String,
    condition: Option<String>,
}

/// Reads the fields of a worksheet.
pub(super) fn fields(sheet: &str) -> Vec<Field> {
    let mut fields: Vec<Field> = Vec::new();
    let (mut circuit, mut condition): (Option<String>, Option<String>) = (None, None);
    let mut is_open = false;
    for line in sheet.lines() {
        if let Some(name) = line.strip_prefix("CIRCUIT ") {
            circuit = Some(name.rsplit_once(", port ").map_or(name, |(name, _)| name).to_owned());
        } else if line.starts_with("-- ") {
            circuit = None;
        } else if let Some(first) = line.strip_prefix("    > ") {
            condition = Some(first.to_owned());
            is_open = false;
        } else if let Some(condition) = condition.as_mut().filter(|condition| !condition.ends_with(':')) {
            condition.push(' ');
            condition.push_str(line.trim());
        } else if let Some((number, text)) =
            line.get(..4).and_then(|number| number.trim().parse().ok()).zip(line.get(6..))
        {
            fields.push(Field {
                circuit: circuit.clone(),
                number,
                text: text.to_owned(),
                condition: condition.take(),
            });
            is_open = true;
        } else if let Some(field) = fields.last_mut().filter(|field| {
            // What is only said begins where a plain question's lines go on.
            let deep = if field.text.starts_with("[ ]") { "          " } else { "      " };
            is_open && line.starts_with(deep)
        }) {
            field.text = format!("{} {}", field.text, line.trim());
        } else {
            // What is only said has its condition too.
            condition = None;
            is_open = false;
        }
    }
    fields
}

fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

impl Field {
    /// Returns whether something that happened is this field's.
    fn is_of(&self, happened: &Happened) -> bool {
        let (text, words) = (plain(&self.text), plain(&happened.words));
        let text =
            text.trim_start_matches("[ ] ").trim_start_matches("found: ").trim_start_matches("caution: ");
        let is_finding = self.text.contains("found: ");
        let mut rest = words.as_str();
        let starts = match is_finding {
            // A blank stands for what was worked out.
            true => {
                text.split("________").all(|piece| match rest.find(piece.trim()) {
                    Some(at) => {
                        rest = &rest[at + piece.trim().len()..];
                        true
                    }
                    None => false,
                }) && (text.contains("____") || words.starts_with(text))
            }
            false => {
                text == words
                    || text.starts_with(&format!("{words} "))
                    || text.starts_with(&format!("{words},"))
                    || text.ends_with(&words)
            }
        };
        // What comes after the tests stands behind the last of them.
        let is_here = happened.circuit.is_none() || self.circuit == happened.circuit;
        is_here && starts && is_finding == happened.answer.is_none()
    }

    /// Returns whether it is to be filled in by what stands in the fields before it; none where the form does not say.
    fn is_to_come(&self, filled: &BTreeMap<usize, String>) -> Option<bool> {
        let Some(condition) = &self.condition else { return Some(true) };
        if condition.starts_with("for the bench with a computer only") {
            return None;
        }
        let condition = condition.strip_prefix("if ").and_then(|c| c.strip_suffix(':')).expect("a condition");
        let is_true = |part: &str| {
            let (number, said) = part.split_once(' ').expect("a field and what is said of it");
            let filled = filled.get(&number.parse().expect("the number of a field"));
            filled.is_some_and(|filled| {
                said.split(" or ").any(|said| match said {
                    "does not hold" => ["is worn", "leaks", "is retest"].contains(&filled.as_str()),
                    "was read" | "is done" => true,
                    said => said == filled,
                })
            })
        };
        Some(condition.split(", or if ").any(|together| together.split(" and ").all(is_true)))
    }
}

/// Checks that a worksheet says of each field whether it comes on a walk, as it came, and has one for whatever was
/// found; returns of how many fields it does not say.
#[track_caller]
pub(super) fn agrees(fields: &[Field], happened: &[Happened]) -> usize {
    let (mut filled, mut n_open) = (BTreeMap::new(), 0);
    for found in happened.iter().filter(|happened| happened.answer.is_none()) {
        assert!(fields.iter().any(|field| field.is_of(found)), "no field for {found:?}: {fields:#?}");
    }
    for field in fields {
        let came = happened.iter().find(|happened| field.is_of(happened));
        match field.is_to_come(&filled) {
            None => n_open += 1,
            Some(is_to_come) => {
                // The rig is set by the runner.
                let is_rig = field.text.starts_with("Set the rig.");
                assert!(is_rig || is_to_come == came.is_some(), "{field:?}: {happened:#?}\n{fields:#?}");
            }
        }
        if let Some(answer) = came.and_then(|came| came.answer.clone()) {
            filled.insert(field.number, answer);
        }
    }
    n_open
}

/// How many units the forms are filled in for; a thousand by `SPOOLPROOF_ALL_SEEDS=1 cargo test --lib paper`.
fn units() -> std::ops::Range<u64> {
    if std::env::var_os("SPOOLPROOF_ALL_SEEDS").is_some() { 0..1_000 } else { 0..15 }
}

#[test]
fn filled_in_for_many_units_the_form_of_each_shipped_procedure_finds_what_a_session_finds() {
    for shipped in SHIPPED {
        let program = Program::compile(shipped.source().expect("a procedure")).expect("a procedure");
        let fields = fields(&worksheet(&program, None).0);
        for unit in units() {
            let mut dice = Draws(unit);
            let happened = walked(&program, move |n| dice.below(n), &Trail::default());
            let n_open = agrees(&fields, &happened);
            // Only what is compared by hand is for the bench with a computer.
            assert!(n_open <= 7, "{}: {n_open} fields without a condition: {fields:#?}", shipped.id);
        }
    }
}
