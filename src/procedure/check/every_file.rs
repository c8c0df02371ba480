use rhai::{ASTNode, Engine, Expr, FnCallExpr, Position, Stmt};

use super::super::syntax::Parsed;
use super::super::{Fault, Source};
use super::{
    Faults, Imports, Known, Names, calls as called, closures, descriptions, order, properties, unlike,
};

/// Checks every parsed file of a procedure against what is known, without running it.
pub(crate) fn check(engine: &Engine, source: &Source, parsed: &[Parsed]) -> Vec<Fault> {
    let words = Known::words(engine);
    let imports = Imports::of(source, parsed);
    let mut found = Vec::new();
    for (index, (file, parsed)) in source.files.iter().zip(parsed).enumerate() {
        let Some(ast) = &parsed.ast else { continue };
        let known = words.with_functions_of(ast);
        let names = Names::of(ast);
        let mut faults = Faults::new(file, &parsed.mended);
        order::hidden_words(ast, words, &mut faults);
        closures::check(ast, &mut faults);
        imports.check(index, &mut faults);
        imports.check_constants(index, ast, &mut faults);
        called::check(ast, &known, &names, (&imports, index), &mut faults);
        descriptions::check(ast, &names, &mut faults);
        properties::check(ast, &names, &mut faults);
        unlike::check(ast, &names, &mut faults);
        order::no_return(ast, &mut faults);
        if index > 0 {
            order::module(ast, &mut faults);
        } else if parsed.is_whole {
            order::opening(ast, &mut faults);
            // A name that was misspelt would make a circuit look untested.
            if parsed.faults.is_empty() {
                order::untested(ast, &mut faults);
            }
        }
        let is_covered = |fault: &Fault| fault.line.is_some_and(|line| parsed.covered.contains(&line));
        found.extend(faults.into_found().into_iter().filter(|fault| !is_covered(fault)));
    }
    found
}

/// Returns the call that a path through a file ends at.
pub(crate) fn call<'a>(path: &[ASTNode<'a>]) -> Option<(&'a FnCallExpr, Position)> {
    match path.last()? {
        ASTNode::Expr(Expr::FnCall(call, position) | Expr::MethodCall(call, position))
        | ASTNode::Stmt(Stmt::FnCall(call, position)) => Some((call, *position)),
        _ => None,
    }
}
