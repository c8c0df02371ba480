use rhai::{ASTFlags, Expr, FnPtr, Stmt};

use super::super::language::{PROPERTIES, Sort};
use super::{Aspect, Influence, Tracer};

impl Tracer<'_> {
    /// Returns what the value of an expression hangs on.
    pub(super) fn value(&mut self, expression: &Expr) -> Influence {
        self.rooted(expression).0
    }

    /// Returns what the value of an expression hangs on, and the variable that it is or is a part of.
    pub(super) fn rooted(&mut self, expression: &Expr) -> (Influence, Option<usize>) {
        if let Some(steps) = steps_of(expression) {
            self.steps_handed_on(&steps);
            return (Influence::default(), None);
        }
        let value = match expression {
            Expr::Variable(name, ..) if name.2.is_empty() => {
                let Some(variable) = self.variable(&name.1) else { return <(Influence, _)>::default() };
                return (self.held_by(variable).clone(), Some(variable));
            }
            Expr::ThisPtr(_) => {
                let Some(this) = self.parameters.get(&self.body).map(|own| own[0]) else {
                    return (Influence::all(), None);
                };
                return (self.held_by(this).clone(), Some(this));
            }
            Expr::InterpolatedString(parts, _) => self.all_of(parts).asked_for(Aspect::Figure),
            Expr::Array(parts, _) => self.all_of(parts),
            Expr::Map(parts, _) => {
                let values: Vec<_> = parts.0.iter().map(|(_, value)| value.clone()).collect();
                self.all_of(&values)
            }
            Expr::And(parts, _) | Expr::Or(parts, _) | Expr::Coalesce(parts, _) => {
                let before = self.here.clone();
                let mut value = Influence::default();
                for part in parts.iter() {
                    value.join(&self.value(part));
                    self.here.join(&value);
                }
                self.here = before;
                value
            }
            Expr::Stmt(block) => self.statements(block.statements()),
            Expr::FnCall(call, position) | Expr::MethodCall(call, position) => {
                self.call(call, *position, None)
            }
            Expr::Dot(parts, flags, _) | Expr::Index(parts, flags, _) => {
                let first = self.rooted(&parts.lhs);
                let is_point = matches!(expression, Expr::Dot(..));
                return self.behind(first, &parts.rhs, is_point, flags.contains(ASTFlags::BREAK));
            }
            Expr::Custom(..) => Influence::all(),
            _ => Influence::default(),
        };
        (value, None)
    }

    /// Follows a chain: what stands behind a point or between brackets, and what stands behind that.
    fn behind(
        &mut self,
        (value, root): (Influence, Option<usize>),
        next: &Expr,
        is_point: bool,
        is_last: bool,
    ) -> (Influence, Option<usize>) {
        let (link, rest) = match next {
            Expr::Dot(parts, flags, _) | Expr::Index(parts, flags, _) if !is_last => (
                &parts.lhs,
                Some((&parts.rhs, matches!(next, Expr::Dot(..)), flags.contains(ASTFlags::BREAK))),
            ),
            link => (link, None),
        };
        let value = match link {
            Expr::Property(names, _) if is_point => self.property(&value, &names.2),
            Expr::MethodCall(call, position) if is_point => self.call(call, *position, Some((value, root))),
            link => {
                let at = self.value(link);
                let both = value.with(&at);
                self.trouble(&both);
                both
            }
        };
        match rest {
            Some((next, is_point, is_last)) => self.behind((value, root), next, is_point, is_last),
            None => (value, root),
        }
    }

    fn property(&mut self, of: &Influence, name: &str) -> Influence {
        let known = PROPERTIES.iter().find(|property| property.name == name);
        let value = match known.map(|property| property.gives) {
            Some(Sort::YesNo) => of.asked_for(Aspect::Verdict),
            Some(Sort::Text) if name == "verdict" => of.asked_for(Aspect::Verdict),
            Some(_) => of.asked_for(Aspect::Figure),
            None => of.clone(),
        };
        if name == "value" {
            self.trouble(&of.asked_for(Aspect::Verdict));
        } else if of.has(Aspect::Leaving) {
            self.trouble(&value);
        }
        value
    }

    fn all_of(&mut self, parts: &[Expr]) -> Influence {
        let mut all = Influence::default();
        for part in parts {
            all.join(&self.value(part));
        }
        all
    }
}

/// Returns the steps that are written out in an expression: the name that the parser gave them, and how many variables
/// they take from around them.
pub(super) fn steps_of(expression: &Expr) -> Option<(String, usize)> {
    let named = |expression: &Expr| match expression {
        Expr::DynamicConstant(value, _) => {
            value.read_lock::<FnPtr>().map(|pointer| pointer.fn_name().to_owned())
        }
        _ => None,
    };
    match expression {
        Expr::Stmt(block) => match block.statements() {
            [Stmt::Share(taken), Stmt::Expr(call)] => match &**call {
                Expr::FnCall(call, _) => Some((named(call.args.first()?)?, taken.len())),
                _ => None,
            },
            _ => None,
        },
        other => Some((named(other)?, 0)),
    }
}
