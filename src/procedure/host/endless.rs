//! Which loop does not end, and which function calls itself.
//!
//! The engine stops a script at the outermost call that was under way and no deeper. So what can be at work there is
//! looked for in the text.

use rhai::{AST, ASTFlags, ASTNode, Expr, FlowControl, Position, Stmt};

use super::super::check::{call, visit};
use super::Program;

/// A loop that could go on and on.
pub(super) struct Endless {
    pub(super) file: String,
    pub(super) place: Position,
    /// Whether nothing in it can end it, as far as its text tells.
    pub(super) is_certain: bool,
}

impl Program {
    /// Finds the loop that a script was in when it was stopped at a place: one that nothing ends, else one around the
    /// place, else the only one that there is. A `for` always ends.
    pub(super) fn endless(&self, file: &str, place: Position) -> Option<Endless> {
        let mut found = Vec::new();
        self.each_file(|name, ast| {
            visit(ast, |path| {
                if let Some(ASTNode::Stmt(Stmt::While(flow, at) | Stmt::Do(flow, _, at))) = path.last() {
                    let is_around = name == file && (*at..=flow.body.span().end()).contains(&place);
                    let (file, is_certain) = (name.to_owned(), nothing_ends(flow));
                    found.push((is_around, Endless { file, place: *at, is_certain }));
                }
            });
        });
        let is_only = found.len() == 1;
        let found = found.into_iter().filter(|(is_around, known)| known.is_certain || *is_around || is_only);
        found.min_by_key(|(is_around, known)| (!known.is_certain, !is_around)).map(|(_, known)| known)
    }

    /// Finds the call by which a function comes back to itself, where only one does.
    pub(super) fn recursion(&self) -> Option<(String, Position)> {
        let mut found = Vec::new();
        self.each_file(|file, ast| {
            for function in ast.iter_functions() {
                let mut body = ast.clone_functions_only();
                body.retain_functions(|_, _, name, n| name == function.name && n == function.params.len());
                visit(&body, |path| {
                    let own = call(path).filter(|(call, _)| call.name == function.name);
                    found.extend(own.map(|(_, at)| (file.to_owned(), at)));
                });
            }
        });
        found.dedup();
        found.pop().filter(|_| found.is_empty())
    }

    fn each_file(&self, mut each: impl FnMut(&str, &AST)) {
        self.source.files.iter().zip(&self.compiled).for_each(|(file, ast)| each(&file.name, ast));
    }
}

/// Returns whether nothing ends a loop: it is never left, and what its condition asks never changes.
fn nothing_ends(flow: &FlowControl) -> bool {
    let (mut asked, mut can_end) = (Vec::new(), false);
    flow.expr.walk(&mut Vec::new(), &mut |path: &[ASTNode<'_>]| {
        if let Some(ASTNode::Expr(Expr::Variable(name, ..))) = path.last() {
            asked.push(name.1.clone());
        }
        can_end |= call(path).is_some_and(|(call, _)| call.op_token.is_none());
        true
    });
    let is_asked = |expression: &Expr| {
        let mut is_asked = false;
        expression.walk(&mut Vec::new(), &mut |path: &[ASTNode<'_>]| {
            is_asked |= matches!(path.last(), Some(ASTNode::Expr(Expr::Variable(name, ..))) if asked.contains(&name.1));
            true
        });
        is_asked
    };
    let mut on_node = |path: &[ASTNode<'_>]| {
        can_end |= match path.last() {
            Some(ASTNode::Stmt(Stmt::BreakLoop(_, flags, _))) => flags.intersects(ASTFlags::BREAK),
            Some(ASTNode::Stmt(Stmt::Return(..))) => true,
            Some(ASTNode::Stmt(Stmt::Assignment(parts))) => is_asked(&parts.1.lhs),
            Some(ASTNode::Expr(Expr::Dot(parts, ..))) => {
                matches!(parts.rhs, Expr::MethodCall(..)) && is_asked(&parts.lhs)
            }
            _ => false,
        };
        true
    };
    for statement in flow.body.statements() {
        statement.walk(&mut Vec::new(), &mut on_node);
    }
    !can_end
}
