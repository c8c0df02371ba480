use std::collections::BTreeMap;

use rhai::{AST, ASTNode, Expr, Position, Stmt};

use super::super::language::{PROPERTIES, Sort, Stands, is_comparison, word_named};
use super::visit;
use crate::quantity::Unit;

/// The sorts of the names that a file gives to things, as far as its text tells.
pub(super) struct Names(BTreeMap<String, Sort>);

impl Names {
    pub(super) fn has(&self, name: &str) -> bool {
        self.0.contains_key(name)
    }

    pub(super) fn is_circuit(&self, name: &str) -> bool {
        self.0.get(name) == Some(&Sort::Circuit)
    }

    /// Works the names of a file out; one that stands for things of different sorts is of unknown sort.
    pub(super) fn of(ast: &AST) -> Names {
        let mut names = Names(BTreeMap::new());
        for function in ast.iter_functions() {
            // What a set of steps takes from around it comes before its own parameter.
            let is_steps = function.name.starts_with("anon$");
            let own = if is_steps { function.params.len().saturating_sub(1) } else { 0 };
            for parameter in &function.params[own..] {
                names.give(parameter, Sort::Unknown);
            }
        }
        // Twice, because a name may be given after the steps that use it have been gone through.
        names.take_from(ast);
        names.take_from(ast);
        names
    }

    fn take_from(&mut self, ast: &AST) {
        visit(ast, |path| match path.last() {
            Some(ASTNode::Stmt(Stmt::Var(parts, ..))) => self.give(&parts.0.name, self.sort_of(&parts.1)),
            Some(ASTNode::Stmt(Stmt::For(parts, _))) => self.give(&parts.0.name, Sort::Unknown),
            Some(ASTNode::Stmt(Stmt::Assignment(parts))) => {
                if let Expr::Variable(name, ..) = &parts.1.lhs {
                    let is_plain = !parts.0.is_op_assignment();
                    self.give(&name.1, if is_plain { self.sort_of(&parts.1.rhs) } else { Sort::Unknown });
                }
            }
            _ => {}
        });
    }

    fn give(&mut self, name: &str, sort: Sort) {
        // That nothing is kept is told where it is.
        let sort = if sort == Sort::Nothing { Sort::Unknown } else { sort };
        let known = self.0.entry(name.to_owned()).or_insert(sort);
        if *known != sort {
            *known = Sort::Unknown;
        }
    }

    /// Returns what an expression gives, as far as the text tells.
    pub(super) fn sort_of(&self, expression: &Expr) -> Sort {
        match expression {
            Expr::IntegerConstant(..) | Expr::FloatConstant(..) => Sort::Number,
            Expr::StringConstant(..) | Expr::InterpolatedString(..) => Sort::Text,
            Expr::BoolConstant(..) | Expr::And(..) | Expr::Or(..) => Sort::YesNo,
            Expr::Map(..) => Sort::Description,
            Expr::Array(items, _) => Sort::of_list(items.iter().map(|item| self.sort_of(item))),
            Expr::DynamicConstant(value, _) if value.is_fnptr() => Sort::Steps,
            Expr::Variable(name, ..) => self.0.get(name.1.as_str()).copied().unwrap_or(Sort::Unknown),
            Expr::FnCall(call, _) => self.sort_of_call(call),
            Expr::Dot(parts, ..) => self.behind_point(self.sort_of(&parts.lhs), &parts.rhs),
            Expr::Stmt(block) => match block.statements() {
                [.., Stmt::Expr(last)] => self.sort_of(last),
                _ => Sort::Unknown,
            },
            _ => Sort::Unknown,
        }
    }

    fn sort_of_call(&self, call: &rhai::FnCallExpr) -> Sort {
        if call.name == "curry" && !call.args.is_empty() {
            return Sort::Steps;
        }
        if call.op_token.is_some() {
            return match (call.name.as_str(), call.args.as_slice()) {
                ("!" | "in", _) => Sort::YesNo,
                (operator, _) if is_comparison(operator) => Sort::YesNo,
                ("-", [one]) => self.sort_of(one),
                ("+", [a, b]) if self.sort_of(a) == Sort::Text || self.sort_of(b) == Sort::Text => Sort::Text,
                ("+" | "-", [a, b]) => match (self.sort_of(a), self.sort_of(b)) {
                    (Sort::Quantity(Some(a)), Sort::Quantity(Some(b))) => {
                        let result = if call.name == "+" { a.plus(b) } else { a.minus(b) };
                        result.map_or(Sort::Unknown, |result| Sort::Quantity(Some(result)))
                    }
                    (a, b) if a == b => a,
                    _ => Sort::Unknown,
                },
                ("*" | "/", [a, b]) => match (self.sort_of(a), self.sort_of(b)) {
                    (Sort::Quantity(_), Sort::Quantity(_)) if call.name == "/" => Sort::Number,
                    (sort @ (Sort::Quantity(_) | Sort::Number), Sort::Number) => sort,
                    (Sort::Number, sort @ Sort::Quantity(_)) if call.name == "*" => sort,
                    _ => Sort::Unknown,
                },
                _ => Sort::Unknown,
            };
        }
        match word_named(&call.name) {
            Some(word) if call.namespace.is_empty() && word.stands != Stands::Inside => word.gives,
            _ => Sort::Unknown,
        }
    }

    /// Returns what stands behind a point gives.
    pub(super) fn behind_point(&self, of: Sort, behind: &Expr) -> Sort {
        match behind {
            Expr::Property(names, _) => property(of, &names.2),
            Expr::MethodCall(call, _) => self.sort_of_call(call),
            Expr::Dot(parts, ..) => {
                let first = self.behind_point(of, &parts.lhs);
                self.behind_point(first, &parts.rhs)
            }
            _ => Sort::Unknown,
        }
    }
}

fn property(of: Sort, name: &str) -> Sort {
    if of == Sort::Number {
        return Unit::by_word(name).map_or(Sort::Unknown, |unit| Sort::Quantity(Some(unit.dimension)));
    }
    PROPERTIES
        .iter()
        .find(|property| property.name == name && property.of == of)
        .map_or(Sort::Unknown, |property| property.gives)
}

/// Returns a quantity that is written out, as `20.inHg`, with the unit it is written in.
pub(super) fn written_quantity(expression: &Expr) -> Option<(f64, &'static Unit)> {
    let Expr::Dot(parts, ..) = expression else { return None };
    let Expr::Property(names, _) = &parts.rhs else { return None };
    Some((written_number(&parts.lhs)?, Unit::by_word(&names.2)?))
}

pub(super) fn written_number(expression: &Expr) -> Option<f64> {
    match expression {
        #[expect(clippy::cast_precision_loss, reason = "a script's integers are small")]
        Expr::IntegerConstant(whole, _) => Some(*whole as f64),
        Expr::FloatConstant(number, _) => Some(**number),
        _ => None,
    }
}

/// Returns where an expression begins, its first word rather than the point inside it.
pub(super) fn start_of(expression: &Expr) -> Position {
    match expression {
        Expr::Dot(parts, ..) | Expr::Index(parts, ..) => start_of(&parts.lhs),
        Expr::FnCall(call, position) if call.op_token.is_some() => {
            call.args.first().filter(|_| call.args.len() == 2).map_or(*position, start_of)
        }
        Expr::And(parts, _) | Expr::Or(parts, _) => parts.first().map_or(Position::NONE, start_of),
        other => other.start_position(),
    }
}
