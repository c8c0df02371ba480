use rhai::{Array, Dynamic, Engine, EvalAltResult, FnPtr, Map};

use super::super::{Fault, Look};
use super::vocabulary::Sort;
use super::words::{CircuitWord, Test};
use crate::leak::Verdict;
use crate::quantity::{Dimension, Quantity, UNITS, Unit};
use crate::record::TakesOutcome;

/// A result of a word.
pub(super) type Done<T> = Result<T, Box<EvalAltResult>>;

/// Refuses what a script does.
pub(super) fn refuse<T>(message: impl Into<String>) -> Done<T> {
    Err(Fault::of(message).into())
}

/// Returns a number, whole or not; integers serve wherever floats do.
pub(super) fn number(value: &Dynamic) -> Option<f64> {
    #[expect(clippy::cast_precision_loss, reason = "a script's integers are small")]
    value.as_float().ok().or_else(|| value.as_int().ok().map(|whole| whole as f64))
}

/// Returns the sort of a value that a walk has come by; of a range and its like it is not known.
pub(super) fn sort_of(value: &Dynamic) -> Sort {
    match value {
        value if number(value).is_some() => Sort::Number,
        value if value.is_string() || value.is_char() => Sort::Text,
        value if value.is_bool() => Sort::YesNo,
        value if value.is_unit() => Sort::Nothing,
        value if value.is::<Amount>() => Sort::Quantity(None),
        value if value.is::<Reading>() => Sort::Reading,
        value if value.read_lock::<Measured>().is_some_and(|measured| measured.is_count) => Sort::Count,
        value if value.is::<Measured>() => Sort::Measurement,
        value if value.is::<CircuitWord>() => Sort::Circuit,
        value if value.is::<Test>() => Sort::Test,
        value if value.is::<Array>() => Sort::List(&Sort::Unknown),
        value if value.is::<Map>() => Sort::Description,
        value if value.is::<FnPtr>() => Sort::Steps,
        _ => Sort::Unknown,
    }
}

/// A quantity in a script, shown in the unit that it was written in.
#[derive(Debug, Clone, Copy)]
pub(super) struct Amount {
    pub(super) quantity: Quantity,
    pub(super) unit: &'static Unit,
}

impl Amount {
    fn new(number: f64, unit: &'static Unit) -> Done<Amount> {
        match Quantity::new(number, unit) {
            Some(quantity) => Ok(Amount { quantity, unit }),
            None => refuse(format!("{number} {} is no quantity: the number is not finite", unit.symbol)),
        }
    }

    pub(super) fn in_unit(quantity: Quantity, word: &str) -> Done<Amount> {
        match Unit::by_word(word) {
            Some(unit) => Ok(Amount { quantity, unit }),
            None => refuse(format!("there is no unit {word}")),
        }
    }

    fn plus(self, other: Amount) -> Done<Amount> {
        let (left, right) = (self.quantity.dimension(), other.quantity.dimension());
        let Some(sum) = left.plus(right) else { return Err(no_sum(left, right, "added").into()) };
        self.of(sum, self.quantity.si() + other.quantity.si(), other)
    }

    fn minus(self, other: Amount) -> Done<Amount> {
        let (left, right) = (self.quantity.dimension(), other.quantity.dimension());
        let Some(rest) = left.minus(right) else { return Err(no_sum(left, right, "subtracted").into()) };
        self.of(rest, self.quantity.si() - other.quantity.si(), other)
    }

    fn scaled(self, factor: f64) -> Done<Amount> {
        if !self.quantity.dimension().has_multiples() {
            return Err(no_multiple().into());
        }
        self.of(self.quantity.dimension(), self.quantity.si() * factor, self)
    }

    /// How many times another quantity of its kind it is.
    fn over(self, other: Amount) -> Done<Dynamic> {
        let (left, right) = (self.quantity.dimension(), other.quantity.dimension());
        match no_ratio(left, right) {
            Some(fault) => Err(fault.into()),
            None => checked("this division", self.quantity.si() / other.quantity.si()),
        }
    }

    /// A result of this kind, in the unit of whichever of two is of it.
    fn of(self, dimension: Dimension, si: f64, other: Amount) -> Done<Amount> {
        let own = [self.unit, other.unit].into_iter().chain(UNITS).find(|unit| unit.dimension == dimension);
        match (Quantity::from_si(si, dimension), own) {
            (Some(quantity), Some(unit)) => Ok(Amount { quantity, unit }),
            _ => refuse("the result is not finite"),
        }
    }

    fn text(self) -> String {
        self.quantity.in_unit(self.unit)
    }
}

/// Says that two quantities have no sum or difference, and what to write instead.
pub(crate) fn no_sum(left: Dimension, right: Dimension, what: &str) -> Fault {
    let fault = Fault::of(format!("a {left} and a {right} can't be {what}"));
    match (left, right) {
        (Dimension::Temperature, Dimension::Temperature) => {
            fault.help("add a difference to it, as in 5.kelvin or (oil.value - 20.celsius)")
        }
        _ => fault,
    }
}

/// Says why one quantity is not so many times another, where that is so.
pub(crate) fn no_ratio(left: Dimension, right: Dimension) -> Option<Fault> {
    if left != right {
        Some(Fault::of(format!("a {left} can't be divided by a {right}")))
    } else {
        (!left.has_multiples()).then(no_multiple)
    }
}

fn no_multiple() -> Fault {
    Fault::of("a temperature can't be multiplied or divided")
        .help("take its difference from another one first, as in (oil.value - 20.celsius)")
}

/// Registers the unit words (`20.inHg`), sums, differences, multiples and texts of quantities.
pub(super) fn register_quantities(engine: &mut Engine) {
    engine.register_type_with_name::<Amount>("quantity");
    for unit in UNITS {
        engine.register_get(unit.word, move |number: &mut f64| Amount::new(*number, unit));
        #[expect(clippy::cast_precision_loss, reason = "a script's integers are small")]
        engine.register_get(unit.word, move |number: &mut i64| Amount::new(*number as f64, unit));
    }
    engine
        .register_fn("+", Amount::plus)
        .register_fn("-", Amount::minus)
        .register_fn("*", |a: Amount, b: f64| a.scaled(b))
        .register_fn("*", |a: f64, b: Amount| b.scaled(a))
        .register_fn("*", |a: Amount, b: i64| a.scaled(b as f64))
        .register_fn("*", |a: i64, b: Amount| b.scaled(a as f64))
        .register_fn("/", |a: Amount, b: Dynamic| match (number(&b), b.read_lock::<Amount>()) {
            (_, Some(b)) => a.over(*b),
            (Some(divisor), _) if divisor != 0.0 => a.scaled(1.0 / divisor).map(Dynamic::from),
            _ => refuse("a quantity is divided by a plain number other than zero, or by one of its kind"),
        })
        .register_fn("to_string", |a: &mut Amount| a.text())
        .register_fn("+", |a: &str, b: Amount| format!("{a}{}", b.text()))
        .register_fn("+", |a: Amount, b: &str| format!("{}{b}", a.text()));
}

/// A reading in a script: branches on its verdict, never on numbers.
#[derive(Debug, Clone)]
pub(super) struct Reading {
    verdict: Verdict,
    standard: Quantity,
    hole: Quantity,
    look: Option<Look>,
}

impl Reading {
    pub(super) fn of(outcome: &TakesOutcome, look: Option<Look>) -> Option<Reading> {
        let assessment = &outcome.assessment;
        Some(Reading {
            verdict: outcome.verdict(),
            standard: Quantity::from_si(assessment.standard_reading_pa.value, Dimension::Pressure)?,
            hole: Quantity::from_si(assessment.hole_m.value, Dimension::Length)?,
            look,
        })
    }
}

/// A measured number in a script, judged by the limits of its question, in SI; no value where it could not be measured.
#[derive(Debug, Clone)]
pub(super) struct Measured {
    pub(super) value: Option<Amount>,
    pub(super) low: Option<f64>,
    pub(super) high: Option<f64>,
    /// Whether things were counted, so that the value is a plain number.
    pub(super) is_count: bool,
    pub(super) look: Option<Look>,
}

impl Measured {
    fn is_low(&self) -> bool {
        matches!((self.value, self.low), (Some(value), Some(low)) if value.quantity.si() < low)
    }

    fn is_high(&self) -> bool {
        matches!((self.value, self.high), (Some(value), Some(high)) if value.quantity.si() > high)
    }
}

/// What a script asks of a reading with yes or no: whether it got this verdict.
pub(crate) const VERDICTS_ASKED: [(&str, Verdict); 7] = [
    ("holds", Verdict::Holds),
    ("worn", Verdict::Worn),
    ("leaks", Verdict::Leaks),
    ("right", Verdict::Right),
    ("open", Verdict::Open),
    ("tight", Verdict::Tight),
    ("retest", Verdict::Retest),
];

/// Registers what a script may ask of an answer, so that it is seen that it was asked.
fn property<A: Clone + 'static, V: Clone + 'static>(
    engine: &mut Engine,
    name: &'static str,
    look: fn(&A) -> Option<&Look>,
    value: impl Fn(&A) -> Done<V> + 'static,
) {
    engine.register_get(name, move |answer: &mut A| -> Done<V> {
        if let Some(look) = look(answer) {
            look.at(name);
        }
        value(answer)
    });
}

/// Registers what a script may ask of readings and measurements.
pub(super) fn register_readings(engine: &mut Engine) {
    engine.register_type_with_name::<Reading>("reading").register_fn("to_string", |r: &mut Reading| {
        if let Some(look) = &r.look {
            look.at("verdict");
        }
        r.verdict.to_string()
    });
    fn look(reading: &Reading) -> Option<&Look> {
        reading.look.as_ref()
    }
    for (name, asked) in VERDICTS_ASKED {
        property(engine, name, look, move |r: &Reading| Ok(r.verdict == asked));
    }
    property(engine, "verdict", look, |r: &Reading| Ok(r.verdict.to_string()));
    property(engine, "standard", look, |r: &Reading| Amount::in_unit(r.standard, "inHg"));
    property(engine, "hole", look, |r: &Reading| Amount::in_unit(r.hole, "inch"));

    engine.register_type_with_name::<Measured>("measurement").register_fn("to_string", |m: &mut Measured| {
        if let Some(look) = &m.look {
            look.at("value");
        }
        m.value.map_or("not measured".to_owned(), Amount::text)
    });
    fn measured(measured: &Measured) -> Option<&Look> {
        measured.look.as_ref()
    }
    property(engine, "within", measured, |m: &Measured| Ok(m.value.is_some() && !m.is_low() && !m.is_high()));
    property(engine, "low", measured, |m: &Measured| Ok(m.is_low()));
    property(engine, "high", measured, |m: &Measured| Ok(m.is_high()));
    property(engine, "taken", measured, |m: &Measured| Ok(m.value.is_some()));
    property(engine, "value", measured, |m: &Measured| -> Done<Dynamic> {
        let unmeasured = || Fault::of("this was not measured").help("ask .taken before you use .value");
        let value = m.value.ok_or_else(unmeasured)?;
        if m.is_count { checked("the count", value.quantity.si()) } else { Ok(Dynamic::from(value)) }
    });
}

/// Registers arithmetic on plain numbers that never gives NaN or an infinity, and never a silently cut division.
///
/// Rhai's own gives `20/8 = 2`, `1.0/0 = inf`, `sqrt(-1.0) = NaN` and no `sqrt` of an integer.
pub(super) fn register_numbers(engine: &mut Engine) {
    plain(engine, "+", "+=", |a, b| a + b);
    plain(engine, "-", "-=", |a, b| a - b);
    plain(engine, "*", "*=", |a, b| a * b);
    plain(engine, "%", "%=", |a, b| a % b);
    plain(engine, "**", "**=", f64::powf);
    engine
        .register_fn("/", |a: i64, b: i64| divided(a as f64, b as f64))
        .register_fn("/", |a: f64, b: f64| divided(a, b))
        .register_fn("/", |a: f64, b: i64| divided(a, b as f64))
        .register_fn("/", |a: i64, b: f64| divided(a as f64, b))
        .register_fn("/=", |a: &mut Dynamic, b: Dynamic| -> Done<()> {
            let (Some(dividend), Some(divisor)) = (number(a), number(&b)) else {
                return refuse("write x = x / y for what is not a plain number");
            };
            *a = divided(dividend, divisor)?;
            Ok(())
        })
        .register_fn("parse_float", |text: &str| match text.trim().parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(number),
            _ => refuse("parse_float takes a text that is a number"),
        })
        .register_fn("max", |a: Dynamic, b: Dynamic| two("max", &a, &b, f64::max))
        .register_fn("min", |a: Dynamic, b: Dynamic| two("min", &a, &b, f64::min));
    for (name, f) in [("sqrt", f64::sqrt as fn(f64) -> f64), ("round", f64::round)] {
        let one = move |a: Dynamic| match number(&a) {
            Some(a) => checked(name, f(a)),
            None => refuse(format!("{name} takes a plain number, not {}", a.type_name())),
        };
        // The engine's own for floats would come first.
        engine.register_fn(name, one).register_fn(name, move |a: f64| checked(name, f(a)));
    }
}

/// Registers an operator, and the one that assigns what it gives, on plain numbers of which at least one is not whole;
/// the engine does those of whole ones.
fn plain(engine: &mut Engine, operator: &'static str, assigning: &'static str, act: fn(f64, f64) -> f64) {
    let act = move |a: f64, b: f64| {
        let result = act(a, b);
        if result.is_finite() {
            Ok(result)
        } else {
            refuse(format!("{a:e} {operator} {b:e} has no finite result"))
        }
    };
    engine
        .register_fn(operator, move |a: f64, b: f64| act(a, b))
        .register_fn(operator, move |a: f64, b: i64| act(a, b as f64))
        .register_fn(operator, move |a: i64, b: f64| act(a as f64, b))
        .register_fn(assigning, move |a: &mut f64, b: f64| act(*a, b).map(|result| *a = result))
        .register_fn(assigning, move |a: &mut f64, b: i64| act(*a, b as f64).map(|result| *a = result));
}

fn divided(a: f64, b: f64) -> Done<Dynamic> {
    checked("this division", a / b)
}

fn two(name: &str, a: &Dynamic, b: &Dynamic, f: fn(f64, f64) -> f64) -> Done<Dynamic> {
    match (number(a), number(b)) {
        (Some(a), Some(b)) => checked(name, f(a, b)),
        _ => refuse(format!("{name} takes two plain numbers")),
    }
}

/// Gives a whole number back as an integer, so that it still indexes and counts.
fn checked(name: &str, result: f64) -> Done<Dynamic> {
    const LARGEST_EXACT: f64 = 9_007_199_254_740_992.0;
    if !result.is_finite() {
        return refuse(format!("{name} has no finite result"));
    }
    #[expect(clippy::cast_possible_truncation, reason = "whole and within the exact range")]
    Ok(if result.fract() == 0.0 && result.abs() < LARGEST_EXACT {
        Dynamic::from(result as i64)
    } else {
        Dynamic::from(result)
    })
}
