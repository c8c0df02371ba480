use rhai::{ASTNode, Engine, Expr, FnCallExpr, Position, Stmt};

use super::super::syntax::{Mended, Parsed};
use super::super::{Fault, Source, SourceFile};
use super::{Callable, Imports, Names, calls, expressions, order};

/// The most faults that are reported of one file: more are of no use to anybody, and each costs a comparison with all
/// before it.
const MOST_FAULTS: usize = 40;

/// Checks every parsed file of a procedure against what is known, without running it.
pub(crate) fn check(engine: &Engine, source: &Source, parsed: &[Parsed]) -> Vec<Fault> {
    let words = Callable::words(engine);
    let imports = Imports::of(source, parsed);
    let mut found = Vec::new();
    for (index, (file, parsed)) in source.files.iter().zip(parsed).enumerate() {
        let Some(ast) = &parsed.ast else { continue };
        let names = Names::of(ast);
        let mut faults = Faults { file, mended: &parsed.mended, found: Vec::new() };
        order::hidden_words(ast, words, &mut faults);
        order::kept_closures(ast, &mut faults);
        imports.check(index, &mut faults);
        imports.check_constants(index, ast, &mut faults);
        calls::check(ast, &words.with_functions_of(ast), &names, (&imports, index), &mut faults);
        calls::descriptions(ast, &names, &mut faults);
        expressions::properties(ast, &names, &mut faults);
        expressions::unlike_things(ast, &names, &mut faults);
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
        found.extend(faults.found);
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

pub(super) struct Faults<'a> {
    file: &'a SourceFile,
    pub(super) mended: &'a Mended,
    found: Vec<Fault>,
}

impl Faults<'_> {
    pub(super) fn report(&mut self, position: Position, message: impl Into<String>, help: impl Into<String>) {
        self.add(position, Fault::of(message).help(help));
    }

    /// Adds a fault; what is found twice at one place counts once.
    pub(super) fn add(&mut self, position: Position, fault: Fault) {
        let mut fault = fault.placed(&self.file.name, position);
        fault.set_column(self.mended);
        // The walk comes by some nodes twice, and what is said first about a place is the most to the point.
        let is_known = self.found.iter().any(|f| (f.line, f.column) == (fault.line, fault.column));
        if !is_known && self.found.len() < MOST_FAULTS {
            self.found.push(fault);
        }
    }
}
