//! Which loop does not end, and which function calls itself.
//!
//! The engine stops a script at the outermost call that was under way and no deeper. So what can be at work there is looked
//! for in the text.

use std::slice::from_ref;

use rhai::{AST, ASTFlags, ASTNode, Expr, FlowControl, FnPtr, Position, Stmt};

use super::super::check::{call, visit};
use super::Program;

/// The statements of a file, or of a function in it.
struct LoopBody<'a> {
    file: &'a str,
    function: Option<String>,
    statements: AST,
}

/// A loop that could go on and on.
pub(super) struct Endless {
    pub(super) file: String,
    pub(super) place: Position,
    /// Whether nothing in it can end it, as far as its text tells.
    pub(super) is_certain: bool,
}

impl Program {
    /// Finds the loop that a script was in when it was stopped at a place: of those around it and of those in what is called
    /// there, one that nothing ends, else the first.
    pub(super) fn endless(&self, file: &str, place: Position) -> Option<Endless> {
        let bodies = self.bodies();
        let around = bodies.iter().filter(|body| body.file == file).flat_map(|body| loops(body));
        let is_around = |found: &(Endless, Position)| found.0.place <= place && place <= found.1;
        let around: Vec<_> = around.filter(is_around).collect();
        let called = at_work(&bodies, names_called_at(&bodies, file, place));
        let called = called.into_iter().flat_map(|body| loops(&bodies[body]));
        let mut found: Vec<_> = around.into_iter().rev().chain(called).map(|(found, _)| found).collect();
        let first = found.iter().position(|found| found.is_certain).unwrap_or(0);
        (first < found.len()).then(|| found.swap_remove(first))
    }

    /// Finds the call by which a function that is at work at a place comes back to itself.
    pub(super) fn recursion(&self, file: &str, place: Position) -> Option<(String, Position)> {
        let bodies = self.bodies();
        at_work(&bodies, names_called_at(&bodies, file, place)).into_iter().find_map(|body| {
            let mut calls = Vec::new();
            each_name_called(&bodies[body], |name, _, at| calls.push((name.to_owned(), at)));
            let back =
                calls.into_iter().find(|(name, _)| at_work(&bodies, vec![name.clone()]).contains(&body));
            back.map(|(_, at)| (bodies[body].file.to_owned(), at))
        })
    }

    fn bodies(&self) -> Vec<LoopBody<'_>> {
        let mut bodies = Vec::new();
        for (file, ast) in self.source.files.iter().zip(&self.compiled) {
            let file = file.name.as_str();
            bodies.push(LoopBody { file, function: None, statements: ast.clone_statements_only() });
            bodies.extend(ast.iter_functions().map(|function| {
                let mut statements = ast.clone_functions_only();
                statements.retain_functions(|_, _, name, _| name == function.name);
                LoopBody { file, function: Some(function.name.to_owned()), statements }
            }));
        }
        bodies
    }
}

/// Gives the name of each function and each set of steps that a body calls or hands on, with its path and its place.
fn each_name_called(body: &LoopBody<'_>, mut on_name: impl FnMut(&str, &[ASTNode<'_>], Position)) {
    visit(&body.statements, |path| match path.last() {
        Some(ASTNode::Expr(Expr::DynamicConstant(value, at))) => {
            if let Some(steps) = value.read_lock::<FnPtr>() {
                on_name(steps.fn_name(), path, *at);
            }
        }
        _ => {
            if let Some((call, at)) = call(path) {
                on_name(&call.name, path, at);
            }
        }
    });
}

/// Returns what is called by the call at a place, or handed to it.
fn names_called_at(bodies: &[LoopBody<'_>], file: &str, place: Position) -> Vec<String> {
    let mut names = Vec::new();
    for body in bodies.iter().filter(|body| body.file == file) {
        each_name_called(body, |name, path, _| {
            if path.iter().any(|node| call(from_ref(node)).is_some_and(|(_, at)| at == place)) {
                names.push(name.to_owned());
            }
        });
    }
    names
}

/// Returns the bodies of these functions and of all that they call, in the order in which they are come by.
fn at_work(bodies: &[LoopBody<'_>], mut names: Vec<String>) -> Vec<usize> {
    let mut found = Vec::new();
    let mut next = 0;
    while let Some(name) = names.get(next).cloned() {
        for (n, body) in bodies.iter().enumerate() {
            if body.function.as_ref() == Some(&name) && !found.contains(&n) {
                found.push(n);
                each_name_called(body, |name, _, _| names.push(name.to_owned()));
            }
        }
        next += 1;
    }
    found
}

/// Returns the loops of a body that are no `for`, which always ends: those around others first, each with where it ends.
fn loops(body: &LoopBody<'_>) -> Vec<(Endless, Position)> {
    let mut found = Vec::new();
    visit(&body.statements, |path| {
        if let Some(ASTNode::Stmt(Stmt::While(flow, at) | Stmt::Do(flow, _, at))) = path.last() {
            let (file, is_certain) = (body.file.to_owned(), nothing_ends(flow));
            found.push((Endless { file, place: *at, is_certain }, flow.body.span().end()));
        }
    });
    found
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
