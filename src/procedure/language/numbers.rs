use rhai::{Dynamic, Engine};

use super::fields::number;
use super::host::{Done, wrong};

/// Registers arithmetic on plain numbers that never gives NaN or an infinity, and never a silently cut division.
///
/// Rhai's own gives `20/8 = 2`, `1.0/0 = inf`, `sqrt(-1.0) = NaN` and no `sqrt` of an integer.
pub(super) fn register(engine: &mut Engine) {
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
                return Err(wrong("write x = x / y for what is not a plain number"));
            };
            *a = divided(dividend, divisor)?;
            Ok(())
        })
        .register_fn("parse_float", |text: &str| match text.trim().parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(number),
            _ => Err(wrong("parse_float takes a text that is a number")),
        })
        .register_fn("max", |a: Dynamic, b: Dynamic| two("max", &a, &b, f64::max))
        .register_fn("min", |a: Dynamic, b: Dynamic| two("min", &a, &b, f64::min));
    for (name, f) in [("sqrt", f64::sqrt as fn(f64) -> f64), ("round", f64::round)] {
        engine
            .register_fn(name, move |a: Dynamic| one(name, &a, f))
            // The engine's own for floats would come first.
            .register_fn(name, move |a: f64| checked(name, f(a)));
    }
}

/// Registers an operator, and the one that assigns what it gives, on plain numbers of which at least one is not whole;
/// the engine does those of whole ones.
fn plain(engine: &mut Engine, operator: &'static str, assigning: &'static str, act: fn(f64, f64) -> f64) {
    let act = move |a: f64, b: f64| {
        let result = act(a, b);
        let finite = result.is_finite().then_some(result);
        finite.ok_or_else(|| wrong(format!("{a:e} {operator} {b:e} has no finite result")))
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

fn one(name: &str, a: &Dynamic, f: fn(f64) -> f64) -> Done<Dynamic> {
    match number(a) {
        Some(a) => checked(name, f(a)),
        None => Err(wrong(format!("{name} takes a plain number, not {}", a.type_name()))),
    }
}

fn two(name: &str, a: &Dynamic, b: &Dynamic, f: fn(f64, f64) -> f64) -> Done<Dynamic> {
    match (number(a), number(b)) {
        (Some(a), Some(b)) => checked(name, f(a, b)),
        _ => Err(wrong(format!("{name} takes two plain numbers"))),
    }
}

/// Gives a whole number back as an integer, so that it still indexes and counts.
fn checked(name: &str, result: f64) -> Done<Dynamic> {
    const LARGEST_EXACT: f64 = 9_007_199_254_740_992.0;
    if !result.is_finite() {
        return Err(wrong(format!("{name} has no finite result")));
    }
    #[expect(clippy::cast_possible_truncation, reason = "whole and within the exact range")]
    Ok(if result.fract() == 0.0 && result.abs() < LARGEST_EXACT {
        Dynamic::from(result as i64)
    } else {
        Dynamic::from(result)
    })
}
