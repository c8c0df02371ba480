use std::cmp::Ordering;

use rhai::{Engine, ImmutableString};

use super::amount::Amount;
use super::circuits::CircuitWord;
use super::host::{Done, mistake};
use super::taken::{Measured, Reading};

type Holds = fn(Ordering) -> bool;

const OPERATORS: [(&str, Holds); 6] = [
    ("==", Ordering::is_eq),
    ("!=", Ordering::is_ne),
    ("<", Ordering::is_lt),
    ("<=", Ordering::is_le),
    (">", Ordering::is_gt),
    (">=", Ordering::is_ge),
];

/// Registers comparisons: quantities of a kind compare, unlike things are an error.
///
/// Rhai answers `false` to a comparison of unlike types without a word, so `if pressure > 20 { ... }` would pass a bad
/// unit; each pair is registered here to say so instead. The engine has fast operators off, else these are ignored.
pub(super) fn register(engine: &mut Engine) {
    for (operator, holds) in OPERATORS {
        engine.register_fn(operator, move |a: Amount, b: Amount| {
            let (left, right) = (a.quantity.dimension(), b.quantity.dimension());
            if left != right {
                return Err(mistake(format!("a {left} can't be compared with a {right}")));
            }
            Ok(holds(a.quantity.si().total_cmp(&b.quantity.si())))
        });
    }
    unlike::<ImmutableString, i64>(engine, "text", "number");
    unlike::<ImmutableString, f64>(engine, "text", "number");
    unlike::<bool, i64>(engine, "yes or no", "number");
    unlike::<bool, f64>(engine, "yes or no", "number");
    unlike::<bool, ImmutableString>(engine, "yes or no", "text");
    with_plain::<()>(engine, "nothing");
    with_plain::<Amount>(engine, "quantity");
    with_plain::<Reading>(engine, "reading");
    with_plain::<Measured>(engine, "measurement");
    with_plain::<CircuitWord>(engine, "circuit");
    unlike::<Reading, Amount>(engine, "reading", "quantity");
    unlike::<Measured, Amount>(engine, "measurement", "quantity");
    unlike::<Measured, Reading>(engine, "measurement", "reading");
    unlike::<(), Amount>(engine, "nothing", "quantity");
    unlike::<(), Reading>(engine, "nothing", "reading");
    unlike::<(), Measured>(engine, "nothing", "measurement");
    alike::<Reading>(engine, "reading");
    alike::<Measured>(engine, "measurement");
    alike::<CircuitWord>(engine, "circuit");
}

fn with_plain<A: rhai::Variant + Clone>(engine: &mut Engine, a: &'static str) {
    unlike::<A, i64>(engine, a, "number");
    unlike::<A, f64>(engine, a, "number");
    unlike::<A, ImmutableString>(engine, a, "text");
    unlike::<A, bool>(engine, a, "yes or no");
}

fn unlike<A: rhai::Variant + Clone, B: rhai::Variant + Clone>(
    engine: &mut Engine,
    a: &'static str,
    b: &'static str,
) {
    for (operator, _) in OPERATORS {
        engine.register_fn(operator, move |_: A, _: B| refused(a, b));
        engine.register_fn(operator, move |_: B, _: A| refused(b, a));
    }
}

fn alike<A: rhai::Variant + Clone>(engine: &mut Engine, a: &'static str) {
    for (operator, _) in OPERATORS {
        engine.register_fn(operator, move |_: A, _: A| refused(a, a));
    }
}

fn refused(a: &str, b: &str) -> Done<bool> {
    Err(mistake(unlike_refusal(a, b)))
}

/// Says why things of these two sorts can't be compared, and what to write instead.
pub(in super::super) fn unlike_refusal(a: &str, b: &str) -> String {
    let hint = match (a, b) {
        ("reading", _) | (_, "reading") => "; ask the reading itself: .holds, .worn, .leaks",
        ("measurement", _) | (_, "measurement") => {
            "; ask the measurement itself: .within, .low, .high, or compare its .value"
        }
        ("quantity", "number") | ("number", "quantity") => "; give the number a unit, as in 20.inHg",
        _ => "",
    };
    format!("a {a} can't be compared with a {b}{hint}")
}
