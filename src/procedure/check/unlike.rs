use rhai::{AST, ASTNode, Expr, FnCallExpr, Position, Stmt};

use super::super::Sort;
use super::super::language::{PROPERTIES, unlike};
use super::names::{Names, dimension_of, start_of};
use super::{Faults, call};

const COMPARISONS: &[&str] = &["==", "!=", "<", "<=", ">", ">="];

/// Checks that only like things are compared and added, and that conditions are a yes or no.
///
/// Rhai answers `false` to a comparison of unlike things; the run refuses it, this finds it before any run.
pub(super) fn check(ast: &AST, names: &Names, faults: &mut Faults<'_>) {
    let mut conditions: Vec<(Sort, Position)> = Vec::new();
    let mut operations: Vec<(FnCallExpr, Position)> = Vec::new();
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        match path.last() {
            Some(ASTNode::Stmt(Stmt::If(flow, _) | Stmt::While(flow, _) | Stmt::Do(flow, ..))) => {
                conditions.push((names.sort_of(&flow.expr), start_of(&flow.expr)));
            }
            Some(ASTNode::Expr(Expr::And(parts, _) | Expr::Or(parts, _))) => {
                conditions.extend(parts.iter().map(|part| (names.sort_of(part), start_of(part))));
            }
            _ => {}
        }
        if let Some((call, position)) = call(path)
            && call.op_token.is_some()
        {
            operations.push((call.clone(), position));
        }
        true
    });
    for (sort, position) in conditions {
        condition(sort, position, faults);
    }
    for (call, position) in operations {
        match call.args.as_slice() {
            [a, b] => match with_text(&call.name, a, b, names) {
                Some((message, help)) => faults.report(position, message, Some(help)),
                None => operation(&call.name, names.sort_of(a), names.sort_of(b), position, faults),
            },
            [one] if call.name == "!" => condition(names.sort_of(one), start_of(one), faults),
            _ => {}
        }
    }
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
    faults.report(position, format!("a {sort} is no yes or no"), Some(help.to_owned()));
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
    if COMPARISONS.contains(&operator) {
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
    if let (Some(left), Some(right)) = (dimension_of(a), dimension_of(b))
        && left != right
    {
        faults.report(position, format!("a {left} and a {right} can't be {what}"), None);
    }
    let plain = matches!((a, b), (Sort::Quantity(_), Sort::Number) | (Sort::Number, Sort::Quantity(_)));
    if plain {
        let help = "give the number a unit, as in 20.inHg".to_owned();
        faults.report(position, format!("a {a} and a {b} can't be {what}"), Some(help));
    }
}

fn comparison(a: Sort, b: Sort, position: Position, faults: &mut Faults<'_>) {
    if let (Some(left), Some(right)) = (dimension_of(a), dimension_of(b)) {
        if left != right {
            let help = "compare it with a quantity of its own kind".to_owned();
            faults.report(position, format!("a {left} can't be compared with a {right}"), Some(help));
        }
        return;
    }
    let name = |sort| match sort {
        Sort::Quantity(_) => Some("quantity"),
        Sort::Reading => Some("reading"),
        Sort::Measurement => Some("measurement"),
        Sort::Circuit => Some("circuit"),
        Sort::Number => Some("number"),
        Sort::Text => Some("text"),
        Sort::YesNo => Some("yes or no"),
        Sort::Nothing => Some("nothing"),
        _ => None,
    };
    let (Some(left), Some(right)) = (name(a), name(b)) else { return };
    let has_no_order = matches!(a, Sort::Reading | Sort::Measurement | Sort::Circuit);
    if left == right && !has_no_order {
        return;
    }
    let fault = unlike(left, right);
    let help = fault.help.clone().unwrap_or_else(|| "compare it with something of its own kind".to_owned());
    faults.add(position, fault.help(help));
}
