use std::cmp::Ordering;

use rhai::{Array, Dynamic, Engine, FnPtr, Map};

use super::super::Fault;
use super::amount::Amount;
use super::circuits::CircuitWord;
use super::fields::number;
use super::host::{Done, wrong};
use super::taken::{Measured, Reading};
use super::testing::Test;

/// An operator, whether it asks for an order rather than for sameness, and what it says of an ordering.
type Operator = (&'static str, bool, fn(Ordering) -> bool);

const OPERATORS: [Operator; 6] = [
    ("==", false, Ordering::is_eq),
    ("!=", false, Ordering::is_ne),
    ("<", true, Ordering::is_lt),
    ("<=", true, Ordering::is_le),
    (">", true, Ordering::is_gt),
    (">=", true, Ordering::is_ge),
];

/// Registers comparisons: like things compare, everything else is an error.
///
/// Rhai answers `false` to a comparison of unlike things, and to one with NaN, without a word, so
/// `if pressure > 20 { ... }` would pass a bad unit. Each operator is registered once here for whatever stands on its
/// two sides, so that no pair can be forgotten; the engine has fast operators off, else these are ignored. Lists and
/// maps keep the engine's own `==` and `!=`, which compare item by item and so end up here.
pub(super) fn register(engine: &mut Engine) {
    for (operator, is_order, holds) in OPERATORS {
        engine.register_fn(operator, move |a: Dynamic, b: Dynamic| -> Done<bool> {
            compare(&a.flatten(), &b.flatten(), is_order).map(holds)
        });
    }
}

fn compare(a: &Dynamic, b: &Dynamic, is_order: bool) -> Done<Ordering> {
    if let (Ok(a), Ok(b)) = (a.as_int(), b.as_int()) {
        return Ok(a.cmp(&b));
    }
    if let (Some(a), Some(b)) = (number(a), number(b)) {
        let ordering = if a.is_finite() && b.is_finite() { a.partial_cmp(&b) } else { None };
        return ordering.ok_or_else(|| wrong(format!("{a} can't be compared with {b}: not a finite number")));
    }
    if let (Some(a), Some(b)) = (a.read_lock::<Amount>(), b.read_lock::<Amount>()) {
        let (left, right) = (a.quantity.dimension(), b.quantity.dimension());
        if left != right {
            return Err(wrong(format!("a {left} can't be compared with a {right}")));
        }
        return Ok(a.quantity.si().total_cmp(&b.quantity.si()));
    }
    if let (Some(a), Some(b)) = (text(a), text(b)) {
        return Ok(a.cmp(&b));
    }
    match (a.as_bool(), b.as_bool()) {
        (Ok(a), Ok(b)) if !is_order => return Ok(a.cmp(&b)),
        _ => {}
    }
    if a.is_unit() && b.is_unit() && !is_order {
        return Ok(Ordering::Equal);
    }
    Err(unlike(kind(a), kind(b)).into())
}

fn text(value: &Dynamic) -> Option<String> {
    value.as_char().map(String::from).ok().or_else(|| value.clone().into_string().ok())
}

fn kind(value: &Dynamic) -> &'static str {
    if number(value).is_some() {
        "number"
    } else if value.is_string() || value.is_char() {
        "text"
    } else if value.is_bool() {
        "yes or no"
    } else if value.is_unit() {
        "nothing"
    } else if value.is::<Amount>() {
        "quantity"
    } else if value.is::<Reading>() {
        "reading"
    } else if value.is::<Measured>() {
        "measurement"
    } else if value.is::<CircuitWord>() {
        "circuit"
    } else if value.is::<Test>() {
        "test"
    } else if value.is::<Array>() {
        "list"
    } else if value.is::<Map>() {
        "description"
    } else if value.is::<FnPtr>() {
        "function"
    } else {
        "range"
    }
}

/// Says why things of these two sorts can't be compared, and what to write instead.
pub(crate) fn unlike(a: &str, b: &str) -> Fault {
    let fault = Fault::of(format!("a {a} can't be compared with a {b}"));
    let help = match (a, b) {
        ("reading", _) | (_, "reading") => "ask the reading itself: .holds, .worn, .leaks",
        ("measurement", _) | (_, "measurement") => {
            "ask the measurement itself: .within, .low, .high, or compare its .value"
        }
        ("quantity", "number") | ("number", "quantity") => "give the number a unit, as in 20.inHg",
        _ => return fault,
    };
    fault.help(help)
}
