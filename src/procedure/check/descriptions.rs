use rhai::{AST, ASTNode, Expr, Ident, Position};

use super::super::language::{
    TO_BE_FOUND, is_version, keys_of, limits_fault, limits_twice, no_limits, unknown_key, word_named,
};
use super::super::{Key, Sort, nearest};
use super::meant::{meant, with_units};
use super::names::{Names, start_of, written_number, written_quantity};
use super::{Faults, call};
use crate::leak::{Limits, LimitsError};
use crate::quantity::{Dimension, Pressure, Quantity, UNITS, Unit};

/// Checks every description that is written out in the call of a word: its keys, and what they hold.
pub(super) fn check(ast: &AST, names: &Names, faults: &mut Faults<'_>) {
    let mut written = Vec::new();
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        if let Some((call, position)) = call(path)
            && call.namespace.is_empty()
            && word_named(&call.name).is_some_and(|word| !word.keys.is_empty())
            && let Some(Expr::Map(entries, _)) =
                call.args.iter().find(|argument| matches!(argument, Expr::Map(..)))
        {
            written.push((call.name.to_string(), position, entries.0.clone()));
        }
        true
    });
    for (word, position, entries) in written {
        description(&word, position, &entries, names, faults);
    }
}

/// What may stand in place of limits.
const OR_TO_BE_FOUND: &str = ", or limits: \"to be found\"";

/// Checks one description, and those inside it.
fn description(
    word: &str,
    position: Position,
    entries: &[(Ident, Expr)],
    names: &Names,
    faults: &mut Faults<'_>,
) {
    let mut meant = Vec::new();
    let mut is_told = false;
    let asked = entries.iter().find(|(name, _)| word == "ask_number" && name.name == "unit");
    let asked = asked.and_then(|(_, value)| match value {
        Expr::StringConstant(text, _) => Unit::by_text(text),
        _ => None,
    });
    for (name, value) in entries {
        match keys_of(word).iter().find(|key| key.name == name.name) {
            Some(key) if is_to_be_found(word, key, value) => {
                // Said of both, it is still one slip.
                if !std::mem::replace(&mut is_told, true) {
                    faults.report(start_of(value), LIMITS_LATER, Some(INSTEAD.to_owned()));
                }
            }
            Some(key) => value_of((word, asked), key, name, value, names, faults),
            None => {
                meant.extend(nearest(&name.name, keys_of(word).iter().map(|key| key.name)));
                faults.add(name.pos, unknown_key(word, &name.name));
            }
        }
    }
    let is_later = |(name, value): &(Ident, Expr)| {
        let key = keys_of(word).iter().find(|key| key.name == name.name);
        name.name == "limits" || key.is_some_and(|key| is_to_be_found(word, key, value))
    };
    let is_open = word == "circuit" && entries.iter().any(is_later);
    let is_needed = |key: &&Key| key.needed && !(is_open && ["holds", "leaks"].contains(&key.name));
    for key in keys_of(word).iter().filter(is_needed) {
        let is_there = entries.iter().any(|(name, _)| name.name == key.name) || meant.contains(&key.name);
        if !is_there {
            let message = format!("{word} needs {}", key.name);
            let or = if ["holds", "leaks"].contains(&key.name) { OR_TO_BE_FOUND } else { "" };
            faults.report(position, message, Some(format!("write {}: {}{or}", key.name, example(key))));
        }
    }
    match word {
        "circuit" => limits(entries, faults),
        "ask_number" => asked_limits(entries, names, faults),
        "procedure" => version(entries, faults),
        _ => {}
    }
}

const LIMITS_LATER: &str = "that limits are to be found stands in a line of its own";
const INSTEAD: &str = "write limits: \"to be found\" in place of holds and leaks";

/// Returns whether one of the limits is said to be found, which is said of both.
fn is_to_be_found(word: &str, key: &Key, value: &Expr) -> bool {
    let is_limit = word == "circuit" && ["holds", "leaks"].contains(&key.name);
    is_limit && matches!(value, Expr::StringConstant(text, _) if text.as_str() == TO_BE_FOUND)
}

/// Checks a value; `asked` is the unit in which an answer is asked for.
fn value_of(
    (word, asked): (&str, Option<&'static Unit>),
    key: &Key,
    name: &Ident,
    value: &Expr,
    names: &Names,
    faults: &mut Faults<'_>,
) {
    match (key.sort, value) {
        (Sort::Description, Expr::Map(inner, _)) => description(key.name, name.pos, &inner.0, names, faults),
        (Sort::List(Sort::Description), Expr::Array(items, _)) => {
            for item in items {
                if let Expr::Map(inner, position) = item {
                    description(key.name, *position, &inner.0, names, faults);
                }
            }
        }
        (Sort::Text, Expr::StringConstant(text, at)) if text.trim().is_empty() => {
            let help = "write it, or leave the key out".to_owned();
            faults.report(*at, format!("{} of {word} is empty", key.name), Some(help));
        }
        (Sort::Quantity(dimension), _) if written_number(value).is_some() => {
            let number = written_number(value).unwrap_or_default();
            let dimension = dimension.or_else(|| asked.map(|unit| unit.dimension));
            let meant = match asked {
                Some(unit) => format!("{number}.{}", unit.word),
                None => with_units(key.name, dimension.unwrap_or(Dimension::Pressure), number),
            };
            let help = format!("write {meant}");
            faults.report(start_of(value), format!("{} of {word} needs a unit", key.name), Some(help));
        }
        (wanted, _) => {
            let found = names.sort_of(value);
            if !wanted.takes(found) {
                let message = format!("{} of {word} is a {wanted}, not a {found}", key.name);
                let meant = meant(key, value).unwrap_or_else(|| example(key));
                faults.report(start_of(value), message, Some(format!("write {}: {meant}", key.name)));
            }
        }
    }
}

fn example(key: &Key) -> String {
    match key.sort {
        Sort::Quantity(dimension) => {
            let unit = UNITS.iter().find(|unit| dimension.is_none_or(|d| d == unit.dimension));
            let number = if key.name == "leaks" { 15 } else { 20 };
            format!("{number}.{}", unit.map_or("", |unit| unit.word))
        }
        Sort::List(Sort::Text) => "[\"...\", \"...\"]".to_owned(),
        Sort::List(_) => "[#{ ... }]".to_owned(),
        Sort::Description => "#{ ... }".to_owned(),
        Sort::Number => "0.6".to_owned(),
        _ if key.name == "version" => "\"1.0.0\"".to_owned(),
        _ if key.name == "unit" => "\"mm\"".to_owned(),
        _ => "\"...\"".to_owned(),
    }
}

/// Returns a key's value where it is written out as a quantity.
fn written<'a>(entries: &'a [(Ident, Expr)], key: &str) -> Option<(&'a Expr, Quantity, &'static Unit)> {
    let (_, value) = entries.iter().find(|(name, _)| name.name == key)?;
    let (number, unit) = written_quantity(value)?;
    Some((value, Quantity::new(number, unit)?, unit))
}

/// Checks limits that are written out, as `circuit` itself will.
fn limits(entries: &[(Ident, Expr)], faults: &mut Faults<'_>) {
    let told = entries.iter().find(|(name, _)| name.name == "limits");
    if let Some((_, Expr::StringConstant(text, at))) = told {
        let is_given = entries.iter().any(|(name, _)| ["holds", "leaks"].contains(&name.name.as_str()));
        let fault = match (text.as_str() == TO_BE_FOUND, is_given) {
            (true, false) => return,
            (true, true) => limits_twice(),
            (false, _) => no_limits(text),
        };
        return faults.add(*at, fault);
    }
    let (Some((holds_at, holds, holds_unit)), Some((value, leaks, leaks_unit))) =
        (written(entries, "holds"), written(entries, "leaks"))
    else {
        return;
    };
    let (Ok(holds), Ok(leaks)) = (Pressure::try_from(holds), Pressure::try_from(leaks)) else { return };
    if holds_unit != leaks_unit && Limits::new(holds, leaks).is_err() {
        let number = written_quantity(holds_at).map_or(0.0, |(number, _)| number);
        let message = format!("holds is in {} and leaks in {}", holds_unit.symbol, leaks_unit.symbol);
        let help = format!(
            "give both limits in one unit; if {number} {} is meant, write holds: {number}.{}",
            leaks_unit.symbol, leaks_unit.word
        );
        return faults.report(start_of(holds_at), message, Some(help));
    }
    if let Err(error) = Limits::new(holds, leaks) {
        let is_holds = matches!(error, LimitsError::Range(limit) if limit == holds);
        let at = start_of(if is_holds { holds_at } else { value });
        faults.add(at, limits_fault(&error));
    } else if holds_unit != leaks_unit {
        let message = format!("holds is in {} and leaks in {}", holds_unit.symbol, leaks_unit.symbol);
        let number = written_quantity(value).map_or(0.0, |(number, _)| number);
        let other = Quantity::new(number, holds_unit).and_then(|other| Pressure::try_from(other).ok());
        // Of the two, inHg is what limits are mostly given in.
        let is_likely =
            holds_unit.word == "inHg" && other.is_some_and(|other| Limits::new(holds, other).is_ok());
        let (symbol, word) = (holds_unit.symbol, holds_unit.word);
        let help = if is_likely {
            format!(
                "give both limits in one unit; if {number} {symbol} is meant, write leaks: {number}.{word}"
            )
        } else {
            "give both limits in one unit".to_owned()
        };
        faults.report(start_of(value), message, Some(help));
    }
}

/// Checks the limits of `ask_number` against its unit and each other.
fn asked_limits(entries: &[(Ident, Expr)], names: &Names, faults: &mut Faults<'_>) {
    let unit = entries.iter().find(|(name, _)| name.name == "unit").map(|(_, value)| value);
    let Some(Expr::StringConstant(text, at)) = unit else { return };
    let Some(unit) = Unit::by_text(text) else {
        let near = nearest(text, UNITS.iter().map(|unit| unit.symbol));
        let help = near.map_or("write it like \"mm\", \"psi\" or \"ohm\"".to_owned(), |n| {
            format!("did you mean \"{n}\"?")
        });
        return faults.report(*at, format!("\"{text}\" is no known unit"), Some(help));
    };
    for key in ["low", "high"] {
        let Some((_, value)) = entries.iter().find(|(name, _)| name.name == key) else { continue };
        if let Sort::Quantity(Some(dimension)) = names.sort_of(value)
            && dimension != unit.dimension
        {
            let message = format!("{key} is a {dimension}, but the answer is asked for in {}", unit.symbol);
            faults.report(start_of(value), message, Some(format!("write it as in 20.{}", unit.word)));
        }
    }
    if let (Some((_, low, _)), Some((value, high, _))) = (written(entries, "low"), written(entries, "high"))
        && low.dimension() == high.dimension()
        && low.si() > high.si()
    {
        faults.report(start_of(value), "low is above high", Some("swap the two".to_owned()));
    }
}

fn version(entries: &[(Ident, Expr)], faults: &mut Faults<'_>) {
    let version = entries.iter().find(|(name, _)| name.name == "version").map(|(_, value)| value);
    if let Some(Expr::StringConstant(text, at)) = version
        && !is_version(text)
    {
        let help = "write it as in \"1.0.0\"".to_owned();
        faults.report(*at, "a version is three numbers with points between", Some(help));
    }
}
