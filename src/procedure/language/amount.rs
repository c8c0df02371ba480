use rhai::{Dynamic, Engine};

use super::fields::number;
use super::host::{Done, wrong};
use crate::quantity::{Dimension, Quantity, UNITS, Unit};

/// A quantity in a script, shown in the unit that it was written in.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Amount {
    /// The value.
    pub(crate) quantity: Quantity,
    /// The unit that it was written in.
    pub(crate) unit: &'static Unit,
}

impl Amount {
    fn new(number: f64, unit: &'static Unit) -> Done<Amount> {
        match Quantity::new(number, unit) {
            Some(quantity) => Ok(Amount { quantity, unit }),
            None => Err(wrong(format!("{number} {} is no quantity: the number is not finite", unit.symbol))),
        }
    }

    /// Adds or subtracts; temperatures have no sum.
    fn combine(self, other: Amount, what: &str, si: fn(f64, f64) -> f64) -> Done<Amount> {
        let (left, right) = (self.quantity.dimension(), other.quantity.dimension());
        if left != right || left == Dimension::Temperature {
            return Err(wrong(format!("a {left} and a {right} can't be {what}")));
        }
        self.with_si(si(self.quantity.si(), other.quantity.si()))
    }

    fn scaled(self, factor: f64) -> Done<Amount> {
        if self.quantity.dimension() == Dimension::Temperature {
            return Err(wrong("a temperature can't be multiplied"));
        }
        self.with_si(self.quantity.si() * factor)
    }

    fn with_si(self, si: f64) -> Done<Amount> {
        match Quantity::from_si(si, self.quantity.dimension()) {
            Some(quantity) => Ok(Amount { quantity, unit: self.unit }),
            None => Err(wrong("the result is not finite")),
        }
    }
}

/// Registers the unit words (`20.inHg`), sums, differences, multiples and texts of quantities.
pub(super) fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Amount>("quantity");
    for unit in UNITS {
        engine.register_get(unit.word, move |number: &mut f64| Amount::new(*number, unit));
        #[expect(clippy::cast_precision_loss, reason = "a script's integers are small")]
        engine.register_get(unit.word, move |number: &mut i64| Amount::new(*number as f64, unit));
    }
    engine
        .register_fn("+", |a: Amount, b: Amount| a.combine(b, "added", |a, b| a + b))
        .register_fn("-", |a: Amount, b: Amount| a.combine(b, "subtracted", |a, b| a - b))
        .register_fn("*", |a: Amount, b: f64| a.scaled(b))
        .register_fn("*", |a: f64, b: Amount| b.scaled(a))
        .register_fn("*", |a: Amount, b: i64| a.scaled(b as f64))
        .register_fn("*", |a: i64, b: Amount| b.scaled(a as f64))
        .register_fn("/", |a: Amount, b: Dynamic| match number(&b) {
            Some(divisor) if divisor != 0.0 => a.scaled(1.0 / divisor),
            _ => Err(wrong("a quantity is divided by a plain number other than zero")),
        })
        .register_fn("to_string", |a: &mut Amount| a.quantity.in_unit(a.unit))
        .register_fn("+", |a: &str, b: Amount| format!("{a}{}", b.quantity.in_unit(b.unit)))
        .register_fn("+", |a: Amount, b: &str| format!("{}{b}", a.quantity.in_unit(a.unit)));
}
