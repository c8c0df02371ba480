use std::collections::BTreeSet;

use rhai::{AST, ASTNode, Engine, Expr, FnCallExpr, Position, Stmt};

use super::super::host::MOST_FAULTS;
use super::super::syntax::{Mended, Parsed};
use super::super::{Fault, Source, SourceFile};
use super::{Callable, Imports, Names, expressions};

/// Checks every parsed file of a procedure against what is known, without running it.
pub(crate) fn check(engine: &Engine, source: &Source, parsed: &[Parsed]) -> Vec<Fault> {
    let words = Callable::words(engine);
    let imports = Imports::of(source, parsed);
    let mut found = Vec::new();
    for (index, (file, parsed)) in source.files.iter().zip(parsed).enumerate() {
        let Some(ast) = &parsed.ast else { continue };
        let (names, keys) = (Names::of(ast), expressions::keys_in(ast));
        let mended = &parsed.mended;
        let mut check =
            FileCheck { index, file, mended, ast, names, keys, imports: &imports, found: Vec::new() };
        check.hidden_words(words);
        check.kept_closures();
        imports.check(&mut check);
        imports.check_constants(&mut check);
        check.calls(&words.with_functions_of(ast));
        check.descriptions();
        check.pictures(source);
        check.kept_and_filled_in();
        check.properties();
        check.unlike_things();
        check.no_return();
        if index > 0 {
            check.module();
        } else if parsed.is_whole {
            check.opening();
            // A name that was misspelt would make a circuit look untested.
            if parsed.faults.is_empty() {
                check.untested();
            }
        }
        found.extend(check.found);
    }
    found
}

/// Visits every node of a file, each with the path that leads there.
pub(crate) fn visit(ast: &AST, mut each: impl FnMut(&[ASTNode<'_>])) {
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        each(path);
        true
    });
}

/// Returns the call that a path through a file ends at.
pub(crate) fn call<'a>(path: &[ASTNode<'a>]) -> Option<(&'a FnCallExpr, Position)> {
    match path.last()? {
        ASTNode::Expr(Expr::FnCall(call, position) | Expr::MethodCall(call, position))
        | ASTNode::Stmt(Stmt::FnCall(call, position)) => Some((call, *position)),
        _ => None,
    }
}

/// The check of one file: what is known of it, and what was found.
pub(super) struct FileCheck<'a> {
    /// Its place among the files of the procedure.
    pub(super) index: usize,
    file: &'a SourceFile,
    pub(super) mended: &'a Mended,
    pub(super) ast: &'a AST,
    pub(super) names: Names,
    /// The keys of every description written in it.
    pub(super) keys: BTreeSet<String>,
    pub(super) imports: &'a Imports<'a>,
    found: Vec<Fault>,
}

impl FileCheck<'_> {
    pub(super) fn report(&mut self, position: Position, message: impl Into<String>, help: impl Into<String>) {
        self.add(position, Fault::of(message).help(help));
    }

    /// Adds a fault; what is found twice at one place counts once.
    pub(super) fn add(&mut self, position: Position, fault: Fault) {
        if self.is_full() {
            return;
        }
        let rest = Fault::of("and more from here on");
        let fault = if self.found.len() == MOST_FAULTS { rest } else { fault };
        let mut fault = fault.placed(&self.file.name, position);
        fault.set_column(self.mended);
        // The walk comes by some nodes twice, and what is said first about a place is the most to the point.
        let is_known = self.found.iter().any(|f| (f.line, f.column) == (fault.line, fault.column));
        if !is_known {
            self.found.push(fault);
        }
    }

    /// Returns whether nothing more is reported, so that nothing more need be looked for.
    pub(super) fn is_full(&self) -> bool {
        self.found.len() > MOST_FAULTS
    }
}
