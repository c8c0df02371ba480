use rhai::Engine;

use super::super::Fault;
use super::amount::Amount;
use super::host::{Done, wrong};
use crate::leak::Verdict;
use crate::quantity::{Dimension, Quantity, Unit};
use crate::record::TakesOutcome;

/// A reading in a script: branches on its verdict, never on numbers.
#[derive(Debug, Clone)]
pub(super) struct Reading {
    verdict: Verdict,
    standard: Quantity,
    hole: Quantity,
}

impl Reading {
    pub(super) fn of(outcome: &TakesOutcome) -> Option<Reading> {
        let si = |si, dimension| Quantity::from_si(si, dimension);
        Some(Reading {
            verdict: outcome.verdict(),
            standard: si(outcome.assessment.standard_reading_pa.value, Dimension::Pressure)?,
            hole: si(outcome.assessment.hole_m.value, Dimension::Length)?,
        })
    }
}

/// A measured number in a script, judged by the limits of its question.
#[derive(Debug, Clone)]
pub(super) struct Measured {
    /// The value; none where it could not be measured.
    pub(super) value: Option<Amount>,
    /// Lower limit in SI.
    pub(super) low: Option<f64>,
    /// Upper limit in SI.
    pub(super) high: Option<f64>,
}

impl Measured {
    fn si(&self) -> Option<f64> {
        self.value.map(|value| value.quantity.si())
    }

    fn is_low(&self) -> bool {
        matches!((self.si(), self.low), (Some(si), Some(low)) if si < low)
    }

    fn is_high(&self) -> bool {
        matches!((self.si(), self.high), (Some(si), Some(high)) if si > high)
    }
}

/// Registers what a script may ask of readings and measurements.
pub(super) fn register(engine: &mut Engine) {
    engine
        .register_type_with_name::<Reading>("reading")
        .register_get("holds", |r: &mut Reading| r.verdict == Verdict::Holds)
        .register_get("worn", |r: &mut Reading| r.verdict == Verdict::Worn)
        .register_get("leaks", |r: &mut Reading| r.verdict == Verdict::Leaks)
        .register_get("retest", |r: &mut Reading| r.verdict == Verdict::Retest)
        .register_get("verdict", |r: &mut Reading| r.verdict.to_string())
        .register_get("standard", |r: &mut Reading| amount(r.standard, "inHg"))
        .register_get("hole", |r: &mut Reading| amount(r.hole, "inch"))
        .register_fn("to_string", |r: &mut Reading| r.verdict.to_string());
    engine
        .register_type_with_name::<Measured>("measurement")
        .register_get("within", |m: &mut Measured| m.value.is_some() && !m.is_low() && !m.is_high())
        .register_get("low", |m: &mut Measured| m.is_low())
        .register_get("high", |m: &mut Measured| m.is_high())
        .register_get("taken", |m: &mut Measured| m.value.is_some())
        .register_get("value", |m: &mut Measured| -> Done<Amount> {
            match m.value {
                Some(value) => Ok(value),
                None => {
                    Err(Fault::of("this was not measured").help("ask .taken before you use .value").into())
                }
            }
        })
        .register_fn("to_string", |m: &mut Measured| match m.value {
            Some(value) => value.quantity.in_unit(value.unit),
            None => "not measured".to_owned(),
        });
}

fn amount(quantity: Quantity, word: &str) -> Done<Amount> {
    let unit = Unit::by_word(word).ok_or_else(|| wrong(format!("there is no unit {word}")))?;
    Ok(Amount { quantity, unit })
}
