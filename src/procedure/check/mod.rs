//! Checks of a procedure that need no run: everything in it is held against what the language knows.

mod borrowed;
mod calls;
mod closures;
mod descriptions;
mod faults;
mod known;
mod names;
mod order;
mod properties;
mod sites;
mod unlike;

use rhai::{AST, ASTNode, Engine, Expr, FnCallExpr, Position, Stmt};

use borrowed::Borrowed;
use faults::Faults;
use known::Known;
use names::Names;
pub(super) use sites::sites;

use super::imports::Imports;
use super::parse::Parsed;
use super::{Diagnostic, Source};

/// Checks every parsed file of a procedure against what is known, without running it.
pub(super) fn check(engine: &Engine, source: &Source, parsed: &[Parsed]) -> Vec<Diagnostic> {
    let words = Known::words_of(engine);
    let none = AST::empty();
    let compiled: Vec<_> = parsed.iter().map(|parsed| parsed.ast.as_ref().unwrap_or(&none)).collect();
    let (imports, mut found) = Imports::of(source, &compiled);
    for (index, (file, parsed)) in source.files.iter().zip(parsed).enumerate() {
        let Some(ast) = &parsed.ast else { continue };
        let known = words.with_functions_of(ast);
        let names = Names::of(ast);
        let mut faults = Faults::new(file, &parsed.mended);
        order::hidden_words(ast, &words, &mut faults);
        let borrowed = Borrowed::new(&imports, index);
        borrowed.check_values(ast, &mut faults);
        calls::check(ast, &known, &names, &borrowed, &mut faults);
        closures::check(ast, &mut faults);
        descriptions::check(ast, &names, &mut faults);
        properties::check(ast, &names, &mut faults);
        unlike::check(ast, &names, &mut faults);
        order::no_return(ast, &mut faults);
        if index > 0 {
            order::module(ast, &mut faults);
        } else if parsed.is_whole {
            order::opening(ast, &mut faults);
            order::untested(ast, &mut faults);
        }
        found.extend(faults.into_found());
    }
    found
}

/// Returns whether a word is called anywhere in a file.
pub(super) fn calls(ast: &AST, word: &str) -> bool {
    let mut found = false;
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        found |= call(path).is_some_and(|(call, _)| call.name == word && call.namespace.is_empty());
        !found
    });
    found
}

/// Returns the call that a path through a file ends at.
fn call<'a>(path: &[ASTNode<'a>]) -> Option<(&'a FnCallExpr, Position)> {
    match path.last()? {
        ASTNode::Expr(Expr::FnCall(call, position) | Expr::MethodCall(call, position))
        | ASTNode::Stmt(Stmt::FnCall(call, position)) => Some((call, *position)),
        _ => None,
    }
}
