use std::collections::BTreeSet;

use rhai::{AST, ASTNode, Expr, Position, Stmt};

use super::super::language::{PROPERTIES, Sort, is_comparison, property_names, unlike, word_named};
use super::super::{Fault, nearest};
use super::names::{Names, start_of};
use super::{Faults, call};
use crate::quantity::UNITS;

/// Checks that what stands behind each point can be asked of what stands before it.
pub(super) fn properties(ast: &AST, names: &Names, faults: &mut Faults<'_>) {
    let keys = keys_in(ast);
    let mut doubled = Vec::new();
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        if let Some(ASTNode::Expr(Expr::Dot(parts, ..))) = path.last() {
            doubled.extend(twice(&parts.lhs, &parts.rhs));
            along(names.sort_of(&parts.lhs), start_of(&parts.lhs), &parts.rhs, names, &keys, faults);
        }
        true
    });
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        let Some(ASTNode::Expr(Expr::Property(parts, position))) = path.last() else { return true };
        let name = parts.2.as_str();
        if doubled.contains(position) {
            faults.report(*position, format!(".{name} stands here twice"), "write it once");
        } else if keys.contains(name) {
            // It may be asked of a description.
        } else if let Some(word) = word_named(name) {
            let help = format!("write it like {}", word.form);
            faults.report(*position, format!(".{name} needs brackets behind it"), help);
        } else if property_names().all(|known| known != name) {
            let near = nearest(name, property_names()).map(|near| format!("did you mean .{near}?"));
            let yes = "a yes or no is asked as it is: if score { ... } or if !score { ... }";
            let is_yes = ["yes", "no", "true", "false"].contains(&name);
            let help = if is_yes { Some(yes.to_owned()) } else { near };
            faults.add(*position, Fault { help, ..Fault::of(format!("nothing here has a .{name}")) });
        }
        true
    });
}

/// Returns where a word stands that stands behind itself again, as in `t.read.read()`.
fn twice(link: &Expr, behind: &Expr) -> Option<Position> {
    let Expr::Property(parts, position) = link else { return None };
    let next = if let Expr::Dot(behind, ..) = behind { &behind.lhs } else { behind };
    matches!(next, Expr::MethodCall(call, _) if call.name == parts.2).then_some(*position)
}

/// Goes along what stands behind a point, link by link.
fn along(
    of: Sort,
    start: Position,
    behind: &Expr,
    names: &Names,
    keys: &BTreeSet<String>,
    faults: &mut Faults<'_>,
) {
    match behind {
        Expr::MethodCall(call, position) if of == Sort::Reading && word_named(&call.name).is_some() => {
            let help = format!("write .{}() once, behind the name of the test", call.name);
            faults.report(*position, format!("a reading has no .{}()", call.name), help);
        }
        Expr::Property(parts, position) => property(of, start, &parts.2, *position, keys, faults),
        Expr::Dot(parts, ..) => {
            along(of, start, &parts.lhs, names, keys, faults);
            let first = names.behind_point(of, &parts.lhs);
            along(first, start, &parts.rhs, names, keys, faults);
        }
        _ => {}
    }
}

fn property(
    of: Sort,
    start: Position,
    name: &str,
    position: Position,
    keys: &BTreeSet<String>,
    faults: &mut Faults<'_>,
) {
    let is_unit = UNITS.iter().any(|unit| unit.word == name);
    let known: Vec<_> = match of {
        Sort::Number => UNITS.iter().map(|unit| unit.word).collect(),
        Sort::Reading | Sort::Measurement | Sort::Circuit => {
            PROPERTIES.iter().filter(|known| known.of == of).map(|known| known.name).collect()
        }
        Sort::Text | Sort::YesNo | Sort::Nothing | Sort::Quantity(_) if is_unit => {
            let help = "a unit stands behind a number, as in 20.inHg";
            return faults.report(start, format!("a {of} has no unit to it"), help);
        }
        _ => return,
    };
    if known.contains(&name) || keys.contains(name) {
        return;
    }
    let near = nearest(name, known.iter().copied());
    let help = match (near, of) {
        (Some(near), _) => format!("did you mean .{near}?"),
        (None, Sort::Number) => "write a unit as in 20.inHg, 12.7.mm or 93.celsius".to_owned(),
        (None, _) => format!("ask it for .{}", known.join(", .")),
    };
    faults.report(position, format!("a {of} has no .{name}"), help);
}

/// Returns the keys of every description written in a file, which may stand behind a point.
fn keys_in(ast: &AST) -> BTreeSet<String> {
    let mut keys = BTreeSet::new();
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        if let Some(ASTNode::Expr(Expr::Map(entries, _))) = path.last() {
            keys.extend(entries.0.iter().map(|(key, _)| key.name.to_string()));
        }
        true
    });
    keys
}

/// Checks that only like things are compared and added, and that conditions are a yes or no.
///
/// Rhai answers `false` to a comparison of unlike things; the run refuses it, this finds it before any run.
pub(super) fn unlike_things(ast: &AST, names: &Names, faults: &mut Faults<'_>) {
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        let mut condition =
            |expression: &Expr| condition(names.sort_of(expression), start_of(expression), faults);
        match path.last() {
            Some(ASTNode::Stmt(Stmt::If(flow, _) | Stmt::While(flow, _) | Stmt::Do(flow, ..))) => {
                condition(&flow.expr);
            }
            Some(ASTNode::Expr(Expr::And(parts, _) | Expr::Or(parts, _))) => parts.iter().for_each(condition),
            _ => {}
        }
        true
    });
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        let Some((call, position)) = call(path).filter(|(call, _)| call.op_token.is_some()) else {
            return true;
        };
        match call.args.as_slice() {
            [a, b] => match with_text(&call.name, a, b, names) {
                Some((message, help)) => faults.report(position, message, help),
                None => operation(&call.name, names.sort_of(a), names.sort_of(b), position, faults),
            },
            [one] if call.name == "!" => condition(names.sort_of(one), start_of(one), faults),
            _ => {}
        }
        true
    });
}

fn condition(sort: Sort, position: Position, faults: &mut Faults<'_>) {
    let help = match sort {
        Sort::YesNo | Sort::Unknown => return,
        Sort::Reading => "ask the reading itself: .holds, .worn, .leaks, .retest",
        Sort::Measurement => "ask the measurement itself: .within, .low, .high, .taken",
        Sort::Text => "compare it, as in place == \"in a vehicle\"",
        Sort::Nothing => "ask with ask_yes(\"...?\")",
        _ => "compare it, or ask a reading for .holds, .worn, .leaks",
    };
    faults.report(position, format!("a {sort} is no yes or no"), help);
}

/// Explains `outboard == "leaks"` and `t.ask_yes("...") == "yes"`, where what was meant is plain.
fn with_text(operator: &str, a: &Expr, b: &Expr, names: &Names) -> Option<(String, String)> {
    let Expr::StringConstant(text, _) = b else { return None };
    let is_equal = match operator {
        "==" => true,
        "!=" => false,
        _ => return None,
    };
    let sort = names.sort_of(a);
    let verdict = PROPERTIES.iter().find(|known| known.of == sort && known.name == text.as_str());
    let help = match (sort, verdict, a) {
        (Sort::Reading | Sort::Measurement, Some(verdict), Expr::Variable(name, ..)) => {
            format!("write {}{}.{}", if is_equal { "" } else { "!" }, name.1, verdict.name)
        }
        (Sort::YesNo, ..) if ["yes", "true"].contains(&text.to_lowercase().as_str()) == is_equal => {
            format!("leave {operator} \"{text}\" out: what stands before it is yes or no by itself")
        }
        (Sort::YesNo, ..) => format!("leave {operator} \"{text}\" out, and write ! before it for no"),
        _ => return None,
    };
    Some((format!("a {sort} can't be compared with a text"), help))
}

fn operation(operator: &str, a: Sort, b: Sort, position: Position, faults: &mut Faults<'_>) {
    if is_comparison(operator) {
        comparison(a, b, position, faults);
        return;
    }
    let what = match operator {
        "+" => "added",
        "-" => "subtracted",
        _ => return,
    };
    let is_text = operator == "+" && (a == Sort::Text || b == Sort::Text);
    if is_text {
        return;
    }
    match (a, b) {
        (Sort::Quantity(Some(left)), Sort::Quantity(Some(right))) if left != right => {
            faults.add(position, Fault::of(format!("a {left} and a {right} can't be {what}")));
        }
        (Sort::Quantity(_), Sort::Number) | (Sort::Number, Sort::Quantity(_)) => {
            let help = "give the number a unit, as in 20.inHg";
            faults.report(position, format!("a {a} and a {b} can't be {what}"), help);
        }
        _ => {}
    }
}

fn comparison(a: Sort, b: Sort, position: Position, faults: &mut Faults<'_>) {
    if let (Sort::Quantity(Some(left)), Sort::Quantity(Some(right))) = (a, b) {
        if left != right {
            let help = "compare it with a quantity of its own kind";
            faults.report(position, format!("a {left} can't be compared with a {right}"), help);
        }
        return;
    }
    let plain = |sort| match sort {
        Sort::Quantity(_) => Some(Sort::Quantity(None)),
        Sort::Reading | Sort::Measurement | Sort::Circuit | Sort::Number => Some(sort),
        Sort::Text | Sort::YesNo | Sort::Nothing => Some(sort),
        _ => None,
    };
    let (Some(left), Some(right)) = (plain(a), plain(b)) else { return };
    let has_no_order = matches!(a, Sort::Reading | Sort::Measurement | Sort::Circuit);
    if left != right || has_no_order {
        faults.add(position, unlike(left, right));
    }
}
