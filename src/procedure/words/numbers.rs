use rhai::{Dynamic, Engine};

use super::super::fields::number;
use super::host::{Done, mistake};

/// Registers arithmetic on plain numbers that never gives NaN or an infinity, and never a silently cut division.
///
/// Rhai's own gives `20/8 = 2`, `1.0/0 = inf`, `sqrt(-1.0) = NaN` and no `sqrt` of an integer.
pub(super) fn register(engine: &mut Engine) {
    engine
        .register_fn("/", |a: i64, b: i64| divided(a as f64, b as f64))
        .register_fn("/", |a: f64, b: f64| divided(a, b))
        .register_fn("/", |a: f64, b: i64| divided(a, b as f64))
        .register_fn("/", |a: i64, b: f64| divided(a as f64, b))
        .register_fn("/=", |a: &mut Dynamic, b: Dynamic| -> Done<()> {
            let (Some(dividend), Some(divisor)) = (number(a), number(&b)) else {
                return Err(mistake("write x = x / y for what is not a plain number"));
            };
            *a = divided(dividend, divisor)?;
            Ok(())
        })
        .register_fn("sqrt", |a: Dynamic| one("sqrt", &a, f64::sqrt))
        .register_fn("round", |a: Dynamic| one("round", &a, f64::round))
        .register_fn("max", |a: Dynamic, b: Dynamic| two("max", &a, &b, f64::max))
        .register_fn("min", |a: Dynamic, b: Dynamic| two("min", &a, &b, f64::min));
}

fn divided(a: f64, b: f64) -> Done<Dynamic> {
    checked("this division", a / b)
}

fn one(name: &str, a: &Dynamic, f: fn(f64) -> f64) -> Done<Dynamic> {
    match number(a) {
        Some(a) => checked(name, f(a)),
        None => Err(mistake(format!("{name} takes a plain number, not {}", a.type_name()))),
    }
}

fn two(name: &str, a: &Dynamic, b: &Dynamic, f: fn(f64, f64) -> f64) -> Done<Dynamic> {
    match (number(a), number(b)) {
        (Some(a), Some(b)) => checked(name, f(a, b)),
        _ => Err(mistake(format!("{name} takes two plain numbers"))),
    }
}

/// Gives a whole number back as an integer, so that it still indexes and counts.
fn checked(name: &str, result: f64) -> Done<Dynamic> {
    const LARGEST_EXACT: f64 = 9_007_199_254_740_992.0;
    if !result.is_finite() {
        return Err(mistake(format!("{name} has no finite result")));
    }
    #[expect(clippy::cast_possible_truncation, reason = "whole and within the exact range")]
    Ok(if result.fract() == 0.0 && result.abs() < LARGEST_EXACT {
        Dynamic::from(result as i64)
    } else {
        Dynamic::from(result)
    })
}
