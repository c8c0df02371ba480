use std::collections::BTreeSet;

use rhai::{AST, ASTNode, Expr, Position, Stmt};

use super::super::language::{
    PROPERTIES, Sort, Stands, is_comparison, no_ratio, no_sum, property_names, unlike, word_named,
};
use super::super::{Fault, nearest};
use super::names::{Names, start_of, written_number, written_quantity};
use super::{FileCheck, call, visit};
use crate::quantity::{UNITS, Unit};

impl FileCheck<'_> {
    /// Checks that what stands behind each point can be asked of what stands before it.
    pub(super) fn properties(&mut self) {
        let mut doubled = Vec::new();
        visit(self.ast, |path| {
            if let Some(ASTNode::Expr(Expr::Dot(parts, ..))) = path.last().filter(|_| !self.is_full()) {
                doubled.extend(twice(&parts.lhs, &parts.rhs));
                self.along(self.names.sort_of(&parts.lhs), start_of(&parts.lhs), &parts.rhs);
            }
        });
        visit(self.ast, |path| {
            let Some(ASTNode::Expr(Expr::Property(parts, position))) = path.last() else { return };
            let name = parts.2.as_str();
            if self.is_full() {
                return;
            }
            if doubled.contains(position) {
                self.report(*position, format!(".{name} stands here twice"), "write it once");
            } else if self.keys.contains(name) {
                // It may be asked of a description.
            } else if let Some(word) = word_named(name) {
                let help = format!("write it like {}", word.form);
                self.report(*position, format!(".{name} needs brackets behind it"), help);
            } else if property_names().all(|known| known != name) {
                let near = nearest(name, property_names()).map(|near| format!("did you mean .{near}?"));
                let yes = "a yes or no is asked as it is: if score { ... } or if !score { ... }";
                let is_yes = ["yes", "no", "true", "false"].contains(&name);
                let help = if is_yes { Some(yes.to_owned()) } else { near };
                self.add(*position, Fault { help, ..Fault::of(format!("nothing here has a .{name}")) });
            }
        });
    }

    /// Goes along what stands behind a point, link by link.
    fn along(&mut self, of: Sort, start: Position, behind: &Expr) {
        match behind {
            Expr::MethodCall(call, position) if of == Sort::Reading && word_named(&call.name).is_some() => {
                let help = format!("write .{}() once, behind the name of the test", call.name);
                self.report(*position, format!("a reading has no .{}()", call.name), help);
            }
            Expr::Property(parts, position) => self.property(of, start, &parts.2, *position),
            Expr::Dot(parts, ..) => {
                self.along(of, start, &parts.lhs);
                self.along(self.names.behind_point(of, &parts.lhs), start, &parts.rhs);
            }
            _ => {}
        }
    }

    fn property(&mut self, of: Sort, start: Position, name: &str, position: Position) {
        let is_unit = UNITS.iter().any(|unit| unit.word == name);
        let known: Vec<_> = match of {
            Sort::Number => UNITS.iter().map(|unit| unit.word).collect(),
            Sort::Reading | Sort::Measurement | Sort::Count | Sort::Circuit => {
                PROPERTIES.iter().filter(|known| known.of == of).map(|known| known.name).collect()
            }
            Sort::Text | Sort::YesNo | Sort::Nothing | Sort::Quantity(_) if is_unit => {
                let help = "a unit stands behind a number, as in 20.inHg";
                return self.report(start, format!("a {of} has no unit to it"), help);
            }
            _ => return,
        };
        if known.contains(&name) || self.keys.contains(name) {
            return;
        }
        let symbol = Unit::by_text(name).filter(|_| of == Sort::Number).map(|unit| unit.word);
        let near = symbol.or_else(|| nearest(name, known.iter().copied()));
        let help = match (near, of) {
            (Some(word), _) if symbol.is_some() => format!("write .{word}"),
            (Some(near), _) => format!("did you mean .{near}?"),
            (None, Sort::Number) => "write a unit as in 20.inHg, 12.7.mm or 93.celsius".to_owned(),
            (None, _) => format!("ask it for .{}", known.join(", .")),
        };
        self.report(position, format!("a {of} has no .{name}"), help);
    }

    /// Checks what is given a value and what is kept: nothing behind a point can be given one, and what gives nothing
    /// leaves nothing to keep; and that no text has a name to be filled in where none is.
    pub(super) fn kept_and_filled_in(&mut self) {
        visit(self.ast, |path| match path.last() {
            Some(ASTNode::Stmt(Stmt::Var(parts, ..))) => self.nothing(&parts.1),
            Some(ASTNode::Stmt(Stmt::Assignment(parts))) => {
                self.given_behind_point(&parts.1.lhs, &parts.1.rhs);
                self.nothing(&parts.1.rhs);
            }
            Some(ASTNode::Expr(Expr::Dot(parts, ..))) => self.nothing(&parts.lhs),
            Some(ASTNode::Expr(Expr::StringConstant(text, position))) => {
                let Some((_, behind)) = text.split_once("${") else { return };
                let Some((name, _)) = behind.split_once('}') else { return };
                let end = name.find(|c: char| !c.is_alphanumeric() && c != '_').unwrap_or(name.len());
                if !self.names.has(&name[..end]) {
                    return;
                }
                let help = format!(
                    "put the text between backquotes, as in `... ${{{name}}} ...`, or join it with +"
                );
                let message = format!("${{{name}}} is not filled in between straight quotes");
                self.report(*position, message, help);
            }
            _ => {}
        });
    }

    fn given_behind_point(&mut self, to: &Expr, value: &Expr) {
        let Expr::Dot(parts, ..) = to else { return };
        let Expr::Property(names, _) = &parts.rhs else { return };
        let name = names.2.as_str();
        if self.keys.contains(name) || property_names().all(|known| known != name) {
            return;
        }
        let help = match (&parts.lhs, written_number(value), Unit::by_word(name)) {
            (Expr::Variable(to, ..), Some(number), Some(unit)) => {
                format!("write {} = {number}.{}", to.1, unit.word)
            }
            _ => "give a name of its own to it, with let".to_owned(),
        };
        self.report(start_of(to), format!(".{name} can't be given a value"), help);
    }

    /// Reports a word that gives nothing where something is made of what it gives.
    fn nothing(&mut self, expression: &Expr) {
        let word = match expression {
            Expr::FnCall(call, _) => word_named(&call.name).filter(|_| call.namespace.is_empty()),
            Expr::Dot(parts, ..) => match &parts.rhs {
                Expr::MethodCall(call, _) => word_named(&call.name),
                _ => None,
            },
            _ => None,
        };
        let Some(word) = word.filter(|word| word.gives == Sort::Nothing && word.stands != Stands::Inside)
        else {
            return;
        };
        let help = match word.name {
            "test" => "keep what its steps read: test(feed, |t| { let r = t.read(); if r.leaks { ... } });"
                .to_owned(),
            _ => format!("write it by itself: {}", word.form),
        };
        self.report(start_of(expression), format!("{} gives nothing back", word.name), help);
    }

    /// Checks that only like things are compared and added, and that conditions are a yes or no.
    ///
    /// Rhai answers `false` to a comparison of unlike things; the run refuses it, this finds it before any run.
    pub(super) fn unlike_things(&mut self) {
        visit(self.ast, |path| match path.last() {
            Some(ASTNode::Stmt(Stmt::If(flow, _) | Stmt::While(flow, _) | Stmt::Do(flow, ..))) => {
                self.condition(&flow.expr);
            }
            Some(ASTNode::Expr(Expr::And(parts, _) | Expr::Or(parts, _))) => {
                parts.iter().for_each(|part| self.condition(part));
            }
            _ => {}
        });
        visit(self.ast, |path| {
            let Some((call, position)) = call(path).filter(|(call, _)| call.op_token.is_some()) else {
                return;
            };
            match call.args.as_slice() {
                [a, b] => {
                    match with_text(&call.name, a, b, &self.names).or_else(|| fraction(&call.name, a, b)) {
                        Some((message, help)) => self.report(position, message, help),
                        None => {
                            self.operation(&call.name, self.names.sort_of(a), self.names.sort_of(b), position)
                        }
                    }
                }
                [one] if call.name == "!" => self.condition(one),
                _ => {}
            }
        });
    }

    fn condition(&mut self, expression: &Expr) {
        let sort = self.names.sort_of(expression);
        let help = match sort {
            Sort::YesNo | Sort::Unknown => return,
            Sort::Reading => "ask the reading itself: .holds, .worn, .leaks, .retest",
            Sort::Measurement | Sort::Count => "ask it itself: .within, .low, .high, .taken",
            Sort::Text => "compare it, as in place == \"in a vehicle\"",
            Sort::Nothing => "ask with ask_yes(\"...?\")",
            _ => "compare it, or ask a reading for .holds, .worn, .leaks",
        };
        self.report(start_of(expression), format!("a {sort} is no yes or no"), help);
    }

    fn operation(&mut self, operator: &str, a: Sort, b: Sort, position: Position) {
        if is_comparison(operator) {
            return self.comparison(a, b, position);
        }
        let what = match operator {
            "&" | "|" if a == Sort::YesNo && b == Sort::YesNo => {
                let help =
                    format!("write {operator}{operator} for {}", if operator == "&" { "and" } else { "or" });
                return self.report(position, format!("one {operator} joins no conditions"), help);
            }
            "/" if a == Sort::Number && matches!(b, Sort::Quantity(_)) => {
                let help = "a quantity is divided by a number or by one of its kind, not the other way round";
                return self.report(position, format!("a number can't be divided by a {b}"), help);
            }
            "+" => "added",
            "-" => "subtracted",
            "/" => {
                if let (Sort::Quantity(Some(left)), Sort::Quantity(Some(right))) = (a, b) {
                    no_ratio(left, right).into_iter().for_each(|fault| self.add(position, fault));
                }
                return;
            }
            _ => return,
        };
        let is_text = operator == "+" && (a == Sort::Text || b == Sort::Text);
        if is_text {
            return;
        }
        match (a, b) {
            (Sort::Quantity(Some(left)), Sort::Quantity(Some(right))) => {
                let result = if operator == "+" { left.plus(right) } else { left.minus(right) };
                if result.is_none() {
                    self.add(position, no_sum(left, right, what));
                }
            }
            (Sort::Quantity(_), Sort::Number) | (Sort::Number, Sort::Quantity(_)) => {
                let help = "give the number a unit, as in 20.inHg";
                self.report(position, format!("a {a} and a {b} can't be {what}"), help);
            }
            _ => {}
        }
    }

    fn comparison(&mut self, a: Sort, b: Sort, position: Position) {
        if let (Sort::Quantity(Some(left)), Sort::Quantity(Some(right))) = (a, b) {
            if left != right {
                let help = "compare it with a quantity of its own kind";
                self.report(position, format!("a {left} can't be compared with a {right}"), help);
            }
            return;
        }
        let plain = |sort| match sort {
            Sort::Quantity(_) => Some(Sort::Quantity(None)),
            Sort::List(_) | Sort::Description | Sort::Test | Sort::Steps | Sort::Unknown => None,
            sort => Some(sort),
        };
        let (Some(left), Some(right)) = (plain(a), plain(b)) else { return };
        let has_no_order = matches!(a, Sort::Reading | Sort::Measurement | Sort::Count | Sort::Circuit);
        if left != right || has_no_order {
            self.add(position, unlike(left, right));
        }
    }
}

/// Returns where a word stands that stands behind itself again, as in `t.read.read()`.
fn twice(link: &Expr, behind: &Expr) -> Option<Position> {
    let Expr::Property(parts, position) = link else { return None };
    let next = if let Expr::Dot(behind, ..) = behind { &behind.lhs } else { behind };
    matches!(next, Expr::MethodCall(call, _) if call.name == parts.2).then_some(*position)
}

/// Returns the keys of every description written in a file, which may stand behind a point.
pub(super) fn keys_in(ast: &AST) -> BTreeSet<String> {
    let mut keys = BTreeSet::new();
    visit(ast, |path| {
        if let Some(ASTNode::Expr(Expr::Map(entries, _))) = path.last() {
            keys.extend(entries.0.iter().map(|(key, _)| key.name.to_string()));
        }
    });
    keys
}

/// Explains `1/2.inch`, which divides by two inches.
fn fraction(operator: &str, a: &Expr, b: &Expr) -> Option<(String, String)> {
    let (above, (below, unit)) = (written_number(a).filter(|_| operator == "/")?, written_quantity(b)?);
    let meant = format!("{:.6}", above / below);
    let meant = meant.trim_end_matches('0').trim_end_matches('.');
    Some((
        format!("{above}/{below} is no number with a unit behind it"),
        format!("write {meant}.{}", unit.word),
    ))
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
        (Sort::Reading | Sort::Measurement | Sort::Count, Some(verdict), Expr::Variable(name, ..)) => {
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
