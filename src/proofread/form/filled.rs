use std::cell::RefCell;
use std::collections::HashMap;
use std::fmt;
use std::rc::Rc;

use super::super::explore::gather;
use super::keyed::Keyed;
use super::{Gatherer, Item};
use crate::leak::DEFAULT_CONFIDENCE;
use crate::procedure::{Aside, Desk, Duty, Fault, Place, Program, RESEAT, Shown, Stop, Walk};
use crate::quantity::UNITS;
use crate::record::{Answer, BenchState, HoseOn, Question, RigParts, Told, Wants};
use crate::rig::Condition;
use crate::session::{CHECKS, Saying, read_saying, walk_closing, walk_tests};

/// What a filled form comes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyedIn {
    /// The answers in the order of a session, one a line; the lines before them that begin with # say to what.
    pub answers: String,
    /// What stands on the form and no question asked for, each in a sentence.
    pub left_out: Vec<String>,
}

/// Why a filled form makes no answers.
#[derive(Debug, Clone, PartialEq)]
pub enum FormError {
    /// A line is not `FIELD: VALUE`.
    Line(usize),
    /// What is missing or does not fit, and what to write.
    Field(String),
    /// The procedure made a mistake on these answers.
    Broken(Box<Fault>),
}

impl fmt::Display for FormError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            FormError::Line(line) => {
                write!(f, "line {line} is no field; write its number, a colon and the value, as in 12: 22.5")
            }
            FormError::Field(text) => f.write_str(text),
            FormError::Broken(fault) => f.write_str(&fault.message),
        }
    }
}

impl std::error::Error for FormError {}

/// Makes the answers that a session asks for, in its order, from the fields of a filled worksheet.
///
/// The form's lines are `FIELD: VALUE`: the numbers of the worksheet, and `technician`, `barometer`, `plugged`, `through`
/// and `check` (plugged and through, with a semicolon between) for its head and foot. Takes after seating again stand
/// behind a semicolon. A field that is ticked needs no line, save a caution's: `ok`.
///
/// What was read and is not asked for, since fewer takes decide or no answer leads there, is said.
///
/// # Errors
/// What is missing on the form, does not fit, or has no place on it.
pub fn answers_of(program: &Program, form: &str) -> Result<KeyedIn, FormError> {
    let clerk = Clerk {
        keyed: Keyed::of(form)?,
        form: gather(program),
        counts: HashMap::new(),
        take: 0,
        n_checks: 0,
        n_readings: 0,
        last_field: None,
        lines: String::new(),
    };
    clerk.keyed.belong_on(&clerk.form)?;
    let clerk = Rc::new(RefCell::new(clerk));
    let bench =
        BenchState::new(RigParts::USUAL, program.title.oil, DEFAULT_CONFIDENCE).thorough(program.sets_rig);
    let walk = Walk::new(Box::new(AtForm(clerk.clone())), bench, &UNITS[0]);
    match walk_tests(program, walk).and_then(|mut walk| walk_closing(&mut walk)) {
        Ok(()) => Ok(clerk.borrow().done()),
        Err(Stop::Broken(fault)) => Err(FormError::Broken(fault)),
        Err(Stop::Drifted) => Err(FormError::Field(
            "the check on the form finds that the rig had drifted; what was read since then has to be read again".to_owned(),
        )),
        Err(Stop::Aside(Aside::Lost(why))) => Err(FormError::Field(why)),
        Err(Stop::Aside(_)) => Ok(clerk.borrow().done()),
    }
}

/// Whoever looks an answer up on the form.
struct Clerk {
    keyed: Keyed,
    form: Gatherer,
    counts: HashMap<(Option<String>, String), u32>,
    /// Which take of a reading comes next.
    take: usize,
    n_checks: usize,
    n_readings: u32,
    last_field: Option<usize>,
    lines: String,
}

impl Clerk {
    /// Returns what stands in a field, the value of that place.
    fn value(&mut self, field: &str, place: usize) -> Option<String> {
        self.keyed.value(field, place)
    }

    fn done(&self) -> KeyedIn {
        KeyedIn { answers: self.lines.clone(), left_out: self.keyed.left_out(&self.form) }
    }

    fn needed(&mut self, field: &str, place: usize) -> Result<String, String> {
        self.value(field, place).ok_or_else(|| format!("the form has no {field}; write a line {field}: ..."))
    }

    /// Says what would be typed to a question.
    fn say(&mut self, question: &Question, place: &Place) -> Result<String, String> {
        match &question.wants {
            Wants::Technician => return self.needed("technician", 0),
            Wants::Barometer => return self.needed("barometer", 0),
            Wants::Reading { on: HoseOn::Rig { step }, .. } => {
                // The field where the rig is set has both, with a semicolon between.
                let (name, place) = match step.condition() {
                    Condition::Through => ("through", 1),
                    _ => ("plugged", 0),
                };
                let field = self.form.calibration().map(|field| field.to_string());
                let there = field.and_then(|field| self.value(&field, place));
                return there.map_or_else(|| self.needed(name, 0), Ok);
            }
            Wants::Reading { on: HoseOn::Check { condition }, .. } => {
                let at = 2 * self.n_checks + usize::from(*condition == Condition::Through);
                self.n_checks += usize::from(*condition == Condition::Through);
                self.n_readings = 0;
                return self.value("check", at).ok_or_else(|| {
                    format!(
                        "the form has no check number {}; write a line check: PLUGGED; THROUGH",
                        at / 2 + 1
                    )
                });
            }
            Wants::Ready if question.words == RESEAT => return Ok("done".to_owned()),
            _ => {}
        }
        let is_reading = matches!(question.wants, Wants::Reading { .. });
        self.n_readings += u32::from(is_reading);
        let item = Item::asked(question, place).filter(|_| self.take == 0 || !is_reading);
        let field = match item {
            Some(item) => self.form.field_of(&item, question.circuit.clone(), &mut self.counts),
            None => self.last_field,
        };
        self.last_field = field;
        let field = field.map_or_else(|| question.words.clone(), |field| field.to_string());
        let take = if is_reading { self.take } else { 0 };
        match (self.value(&field, take), &question.wants) {
            (Some(value), Wants::Ready | Wants::Wait { .. }) if value.eq_ignore_ascii_case("x") => {
                Ok(String::new())
            }
            (Some(value), _) => Ok(value),
            (None, Wants::Ready | Wants::Wait { .. }) => Ok(String::new()),
            (None, _) if is_reading && take > 0 => {
                let there: Vec<String> = (0..take).filter_map(|at| self.value(&field, at)).collect();
                let (there, more) = (there.join("; "), ["SECOND", "THIRD"].get(take - 1).unwrap_or(&"NEXT"));
                Err(format!(
                    "field {field} has {there} and has to be seated and read once more, since that does not decide; write \
                     {field}: {there}; {more}"
                ))
            }
            (None, _) => Err(format!("field {field} is empty on the form: {}", question.words)),
        }
    }
}

struct AtForm(Rc<RefCell<Clerk>>);

impl Desk for AtForm {
    fn tell(&mut self, told: &Told) {
        if let Told::Began { .. } | Told::Ended { .. } = told {
            self.0.borrow_mut().take = 0;
        }
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        if let Wants::Decision { .. } = question.wants {
            // What is to be done is no field: it is decided at the prompt, when everything is in.
            return Err(Aside::Park);
        }
        let clerk = &mut *self.0.borrow_mut();
        let typed = clerk.say(question, place).map_err(Aside::Lost)?;
        clerk.lines.push_str(&format!("# {}\n{typed}\n", question.words.replace('\n', " ")));
        if matches!(question.wants, Wants::Reading { on: HoseOn::Circuit { .. }, .. }) {
            clerk.take += 1;
        }
        let answer = match read_saying(&typed) {
            Saying::Cannot(reason) => {
                let answer = Answer::Unable { reason };
                question.accepts(&answer).map(|()| answer)
            }
            _ => question.read_typed(&typed),
        };
        answer.map_err(|refusal| {
            Aside::Lost(format!("\"{typed}\" does not answer \"{}\": {refusal}", question.words))
        })
    }

    fn duty(&mut self, before: Option<&str>) -> Duty {
        let n_readings = self.0.borrow().n_readings;
        let is_due = n_readings > 0 && (before.is_none() || n_readings >= CHECKS.readings);
        if is_due { Duty::Check } else { Duty::None }
    }

    fn show(&mut self, shown: &Shown<'_>) {
        if let Shown::Judged { more: false, .. } = shown {
            self.0.borrow_mut().take = 0;
        }
    }
}
