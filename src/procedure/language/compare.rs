use std::cmp::Ordering;

use rhai::{Dynamic, Engine};

use super::super::{Compared, Fault};
use super::values::{Amount, Done, number, refuse, sort_of};
use super::vocabulary::Sort;
use super::words::Host;
use crate::quantity::{Dimension, Quantity};

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
pub(super) fn register(engine: &mut Engine, host: &Host) {
    for (operator, is_order, holds) in OPERATORS {
        let host = host.clone();
        engine.register_fn(operator, move |a: Dynamic, b: Dynamic| -> Done<bool> {
            let (a, b) = (a.flatten(), b.flatten());
            if let Some(trail) = host.walk().trail() {
                [&a, &b].into_iter().filter_map(compared).for_each(|value| trail.compared(value));
            }
            compare(&a, &b, is_order).map(holds)
        });
    }
}

pub(crate) fn is_comparison(operator: &str) -> bool {
    OPERATORS.iter().any(|(known, ..)| *known == operator)
}

fn compare(a: &Dynamic, b: &Dynamic, is_order: bool) -> Done<Ordering> {
    if let (Ok(a), Ok(b)) = (a.as_int(), b.as_int()) {
        return Ok(a.cmp(&b));
    }
    if let (Some(a), Some(b)) = (number(a), number(b)) {
        return match a.partial_cmp(&b).filter(|_| a.is_finite() && b.is_finite()) {
            Some(ordering) => Ok(ordering),
            None => refuse(format!("{a} can't be compared with {b}: not a finite number")),
        };
    }
    if let (Some(a), Some(b)) = (a.read_lock::<Amount>(), b.read_lock::<Amount>()) {
        let (left, right) = (a.quantity.dimension(), b.quantity.dimension());
        if left != right {
            return refuse(format!("a {left} can't be compared with a {right}"));
        }
        return Ok(a.quantity.si().total_cmp(&b.quantity.si()));
    }
    if let (Some(a), Some(b)) = (text(a), text(b)) {
        return Ok(a.cmp(&b));
    }
    match (a.as_bool(), b.as_bool()) {
        (Ok(a), Ok(b)) if !is_order => Ok(a.cmp(&b)),
        _ if a.is_unit() && b.is_unit() && !is_order => Ok(Ordering::Equal),
        _ => Err(unlike(sort_of(a), sort_of(b)).into()),
    }
}

/// Returns what of a value is of use to whoever looks for answers on both sides of it.
fn compared(value: &Dynamic) -> Option<Compared> {
    let quantity = value.read_lock::<Amount>().map(|amount| Compared::Quantity(amount.quantity));
    let count = || Quantity::from_si(number(value)?, Dimension::Count).map(Compared::Quantity);
    quantity.or_else(count).or_else(|| text(value).map(Compared::Text))
}

fn text(value: &Dynamic) -> Option<String> {
    value.as_char().map(String::from).ok().or_else(|| value.clone().into_string().ok())
}

/// Says why things of these two sorts can't be compared, and what to write instead.
pub(crate) fn unlike(a: Sort, b: Sort) -> Fault {
    let fault = Fault::of(format!("a {a} can't be compared with a {b}"));
    fault.help(match (a, b) {
        (Sort::Reading, _) | (_, Sort::Reading) => {
            "ask the reading itself: .holds, .worn, .leaks, or of a passage .right, .open, .tight"
        }
        (Sort::Measurement | Sort::Count, _) | (_, Sort::Measurement | Sort::Count) => {
            "ask it itself: .within, .low, .high, or compare its .value"
        }
        (Sort::Quantity(_), Sort::Number) | (Sort::Number, Sort::Quantity(_)) => {
            "give the number a unit, as in 20.inHg"
        }
        _ => "compare it with something of its own kind",
    })
}
