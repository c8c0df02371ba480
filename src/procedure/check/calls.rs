use rhai::{AST, ASTNode, Expr, FnCallExpr, Position};

use super::super::language::{property_names, word_named};
use super::super::{Sort, Stands, VOCABULARY, Word, nearest};
use super::closures::is_internal;
use super::meant::with_units;
use super::names::{Names, start_of, written_number};
use super::{Faults, Imports, Known, call};

/// Checks that each call is of something known and gets what it takes.
pub(super) fn check(
    ast: &AST,
    known: &Known,
    names: &Names,
    (imports, file): (&Imports<'_>, usize),
    faults: &mut Faults<'_>,
) {
    let mut calls: Vec<(FnCallExpr, Position, bool)> = Vec::new();
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        if let Some((found, position)) = call(path)
            && !is_internal(found, path)
        {
            let is_method = matches!(path.last(), Some(ASTNode::Expr(Expr::MethodCall(..))));
            calls.push((found.clone(), position, is_method));
        }
        true
    });
    for (call, position, is_method) in calls {
        let name = call.name.as_str();
        if !call.namespace.is_empty() {
            imports.check_call(file, &call.namespace, (name, call.args.len()), position, faults);
        } else if let Some(word) = word_named(name) {
            word_call(word, &call, position, is_method, names, faults);
        } else {
            other_call(&call, position, is_method, known, faults);
        }
    }
}

fn other_call(
    call: &FnCallExpr,
    position: Position,
    is_method: bool,
    known: &Known,
    faults: &mut Faults<'_>,
) {
    let name = call.name.as_str();
    let n = call.args.len();
    if is_method && n == 0 && !known.has(name) && property_names().any(|property| property == name) {
        let help = format!("write .{name}");
        faults.report(position, format!("no brackets stand behind .{name}"), Some(help));
    } else if !known.has(name) {
        let help = foreign(name).map(str::to_owned).or_else(|| {
            let words = VOCABULARY.iter().map(|word| word.name);
            let near = nearest(name, words).or_else(|| nearest(name, known.names()));
            near.map(|near| format!("did you mean {near}?")).or_else(|| begun(name))
        });
        faults.report(position, format!("there is no word \"{name}\""), help);
    } else if !(known.takes(name, n) || is_method && known.takes(name, n + 1)) {
        faults.report(position, format!("\"{name}\" does not take {}", arguments(n)), None);
    }
}

/// Names the words that begin with a name, `ask_yes` and its like for `ask`.
fn begun(name: &str) -> Option<String> {
    let start = format!("{name}_");
    let words: Vec<_> =
        VOCABULARY.iter().map(|word| word.name).filter(|word| word.starts_with(&start)).collect();
    (!words.is_empty()).then(|| format!("did you mean {}?", words.join(", ")))
}

/// Says what is written here for a function of other languages.
fn foreign(name: &str) -> Option<&'static str> {
    match name {
        "exit" | "quit" => Some("a procedure ends at its end; put what is left out into if ... { ... }"),
        "sleep" | "pause" => Some("write wait(30.seconds, \"...\")"),
        "input" | "prompt" => Some("write ask_text, ask_yes, ask_choice or ask_number"),
        "print" | "println" | "echo" | "log" | "show" | "message" => Some("write say(\"...\")"),
        "warn" | "warning" => Some("write caution(\"...\")"),
        "found" | "find" | "result" => Some("write finding(\"...\")"),
        "rand" | "random" | "now" | "time" | "timestamp" => {
            Some("a procedure has no clock and no dice: the same answers must lead the same way")
        }
        _ => None,
    }
}

fn word_call(
    word: &Word,
    call: &FnCallExpr,
    position: Position,
    is_method: bool,
    names: &Names,
    faults: &mut Faults<'_>,
) {
    let name = word.name;
    let form = Some(format!("write it like {}", word.form));
    match word.stands {
        Stands::Inside => {
            return faults.report(position, format!("{name} stands inside another description"), form);
        }
        Stands::InTest if !is_method && call.args.len() <= 1 => {
            let is_test = call.args.first().is_some_and(|first| names.sort_of(first) == Sort::Unknown);
            if !is_test {
                return faults.report(position, format!("{name} belongs to a test, behind its t"), form);
            }
        }
        Stands::Alone if is_method => {
            return faults.report(position, format!("{name} stands by itself, not behind a point"), form);
        }
        _ => {}
    }
    let Some(wanted) = word.takes.iter().find(|wanted| wanted.len() == call.args.len()) else {
        return faults.report(
            position,
            format!("\"{name}\" does not take {}", arguments(call.args.len())),
            surplus(word, call, names).or(form),
        );
    };
    for ((what, sort), argument) in wanted.iter().zip(&call.args) {
        let found = names.sort_of(argument);
        if !sort.takes(found) {
            let (message, help) = mismatch(name, (what, *sort), found, argument, (word.form, names));
            faults.report(start_of(argument), message, Some(help));
        }
    }
    let first_text = call.args.first();
    if let Some(Expr::StringConstant(text, at)) = first_text
        && text.trim().is_empty()
    {
        faults.report(
            *at,
            format!("the words of {name} are empty"),
            Some("write what the technician reads".to_owned()),
        );
    }
    if name == "ask_choice" {
        choices(call, faults);
    }
}

/// Says what several things between the brackets were meant to be: one text, or a name in its description.
fn surplus(word: &Word, call: &FnCallExpr, names: &Names) -> Option<String> {
    let sorts: Vec<_> = call.args.iter().map(|argument| names.sort_of(argument)).collect();
    let takes =
        |wanted: &[Sort]| word.takes.iter().any(|w| w.iter().map(|(_, sort)| *sort).eq(wanted.to_vec()));
    match (call.args.first()?, sorts.as_slice()) {
        (_, sorts) if sorts.iter().all(|sort| *sort == Sort::Text) && takes(&[Sort::Text]) => {
            Some("join texts with +, as in \"...\" + \"...\"".to_owned())
        }
        (Expr::StringConstant(text, _), [Sort::Text, Sort::Description]) if takes(&[Sort::Description]) => {
            Some(format!("put the text into the description, as in #{{ name: \"{text}\", ... }}"))
        }
        _ => None,
    }
}

fn mismatch(
    name: &str,
    (what, wanted): (&str, Sort),
    found: Sort,
    argument: &Expr,
    (form, names): (&str, &Names),
) -> (String, String) {
    if let (Sort::Quantity(Some(dimension)), Some(number)) = (wanted, written_number(argument)) {
        let meant = with_units(what, dimension, number);
        return (format!("the {what} of {name} needs a unit"), format!("write {meant}"));
    }
    let help = match argument {
        Expr::StringConstant(text, _) if wanted == Sort::Circuit && names.is_circuit(text) => {
            format!("write the circuit's name without quotes, {text}")
        }
        _ => format!("write it like {form}"),
    };
    (format!("{name} takes a {wanted} here, not a {found}"), help)
}

fn choices(call: &FnCallExpr, faults: &mut Faults<'_>) {
    let Some(Expr::Array(items, position)) = call.args.get(1) else { return };
    let help = Some("write each choice once, as in [\"new\", \"used\"]".to_owned());
    if items.len() < 2 {
        return faults.report(*position, "ask_choice needs two choices or more", help);
    }
    let mut seen = std::collections::BTreeSet::new();
    for item in items {
        if let Expr::StringConstant(text, at) = item
            && !seen.insert(text.trim().to_lowercase())
        {
            faults.report(*at, format!("the choice \"{text}\" stands here twice"), help.clone());
        }
    }
}

fn arguments(n: usize) -> String {
    match n {
        0 => "empty brackets".to_owned(),
        1 => "one thing between its brackets".to_owned(),
        n => format!("{n} things between its brackets"),
    }
}
