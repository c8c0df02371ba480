use std::collections::BTreeSet;

use rhai::{AST, ASTNode, Expr, Position};

use super::super::language::{PROPERTIES, property_names};
use super::super::{Sort, VOCABULARY, nearest};
use super::Faults;
use super::names::{Names, start_of};
use crate::quantity::UNITS;

/// Checks that what stands behind each point can be asked of what stands before it.
pub(super) fn check(ast: &AST, names: &Names, faults: &mut Faults<'_>) {
    let keys = keys_in(ast);
    let mut chains = Vec::new();
    let mut loose = Vec::new();
    let mut doubled = Vec::new();
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        match path.last() {
            Some(ASTNode::Expr(Expr::Dot(parts, ..))) => {
                doubled.extend(twice(&parts.lhs, &parts.rhs));
                chains.push((names.sort_of(&parts.lhs), start_of(&parts.lhs), parts.rhs.clone()));
            }
            Some(ASTNode::Expr(Expr::Property(parts, position))) => {
                loose.push((parts.2.to_string(), *position));
            }
            _ => {}
        }
        true
    });
    for (of, start, behind) in chains {
        along(of, start, &behind, names, &keys, faults);
    }
    for (name, position) in loose {
        if doubled.contains(&position) {
            faults.report(position, format!(".{name} stands here twice"), Some("write it once".to_owned()));
            continue;
        }
        if let Some(word) = VOCABULARY.iter().find(|word| word.name == name && !keys.contains(&name)) {
            let help = format!("write it like {}", word.form);
            faults.report(position, format!(".{name} needs brackets behind it"), Some(help));
            continue;
        }
        if !keys.contains(&name) && property_names().all(|known| known != name) {
            if ["yes", "no", "true", "false"].contains(&name.as_str()) {
                let help = "a yes or no is asked as it is: if score { ... } or if !score { ... }".to_owned();
                faults.report(position, format!("nothing here has a .{name}"), Some(help));
                continue;
            }
            let near = nearest(&name, property_names()).map(|near| format!("did you mean .{near}?"));
            faults.report(position, format!("nothing here has a .{name}"), near);
        }
    }
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
        Expr::MethodCall(call, position)
            if of == Sort::Reading && VOCABULARY.iter().any(|word| word.name == call.name) =>
        {
            let help = format!("write .{}() once, behind the name of the test", call.name);
            faults.report(*position, format!("a reading has no .{}()", call.name), Some(help));
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
            let help = "a unit stands behind a number, as in 20.inHg".to_owned();
            return faults.report(start, format!("a {of} has no unit to it"), Some(help));
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
    faults.report(position, format!("a {of} has no .{name}"), Some(help));
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
