use rhai::{AST, ASTNode, Expr, Position, Stmt};

use super::super::language::word_named;
use super::super::syntax::tokens;
use super::names::uses;
use super::{Faults, Known, call};

/// Reports the functions of a file that have the name of a word, which they would hide.
pub(super) fn hidden_words(ast: &AST, words: &Known, faults: &mut Faults<'_>) {
    let tokens = tokens(faults.text());
    for function in ast.iter_functions().filter(|function| words.is_taken(function.name)) {
        // A function of one type is `fn type.name()`.
        let place = tokens.iter().enumerate().find(|(n, token)| {
            let before = |back: usize| n.checked_sub(back).and_then(|at| tokens.get(at));
            let behind_fn = |back| before(back).is_some_and(|token| token.is("fn"));
            let behind_point = before(1).is_some_and(|token| token.is("."));
            token.is(function.name) && (behind_fn(1) || behind_point && behind_fn(3))
        });
        faults.report(
            place.map_or(Position::NONE, |(_, token)| token.position()),
            format!("\"{}\" is a word of the language and can't be defined again", function.name),
            Some("choose another name for the function".to_owned()),
        );
    }
}

/// Reports each `return` outside a function: it would end the procedure early and leave a unit that looks finished.
pub(super) fn no_return(ast: &AST, faults: &mut Faults<'_>) {
    let mut returns = Vec::new();
    let mut top = ast.clone();
    top.clear_functions();
    top.walk(&mut |path: &[ASTNode<'_>]| {
        if let Some(ASTNode::Stmt(Stmt::Return(_, flags, position))) = path.last() {
            returns.push((*position, flags.intersects(rhai::ASTFlags::BREAK)));
        }
        true
    });
    for (position, is_throw) in returns {
        if is_throw {
            let help =
                "say what is wrong with finding(\"...\"), and put the rest into else { ... }".to_owned();
            faults.report(position, "throw would stop the session in the middle", Some(help));
        } else {
            let help = "use if ... else ... around the steps, or put them in a function".to_owned();
            let message = "return here would end the procedure early, as if the unit were finished";
            faults.report(position, message, Some(help));
        }
    }
}

/// Reports a procedure that does not begin with its title, or has a second one.
pub(super) fn opening(ast: &AST, faults: &mut Faults<'_>) {
    let mut n_titles = 0;
    for statement in ast.statements() {
        let is_title = called(statement).is_some_and(|(name, _)| name == "procedure");
        let is_quiet = matches!(statement, Stmt::Noop(_) | Stmt::Import(..));
        if is_title {
            n_titles += 1;
            for argument in title_of(statement) {
                no_words(faults, |on_node| argument.walk(&mut Vec::new(), on_node));
            }
            if n_titles == 2 {
                let help = "keep one, at the top".to_owned();
                faults.report(statement.position(), "procedure(...) stands once", Some(help));
            }
        } else if !is_quiet && n_titles == 0 {
            n_titles = 1;
            let help = "begin with procedure(#{ title: \"...\", version: \"1.0.0\" });".to_owned();
            faults.report(statement.position(), "a procedure says first what it is", Some(help));
        }
    }
    if n_titles == 0 {
        let help = "begin with procedure(#{ title: \"...\", version: \"1.0.0\" });".to_owned();
        faults.report(Position::new(1, 1), "there is nothing in this procedure", Some(help));
    }
}

/// Reports the circuits that are described and never used again.
pub(super) fn untested(ast: &AST, faults: &mut Faults<'_>) {
    let mut found = Vec::new();
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        match path.last() {
            Some(ASTNode::Stmt(Stmt::Var(parts, ..)))
                if called_by(&parts.1).is_some_and(|(name, _)| name == "circuit")
                    && uses(ast, &parts.0.name) == 0
                    && !is_tested_as_text(ast, &parts.0.name) =>
            {
                found.push((parts.0.pos, Some(parts.0.name.to_string())));
            }
            Some(ASTNode::Stmt(statement @ (Stmt::FnCall(..) | Stmt::Expr(..)))) if path.len() == 1 => {
                if let Some(("circuit", position)) = called(statement) {
                    found.push((position, None));
                }
            }
            _ => {}
        }
        true
    });
    for (position, name) in found {
        match name {
            Some(name) => {
                let help = format!("test it with test({name});");
                faults.report(position, format!("the circuit \"{name}\" is never tested"), Some(help));
            }
            None => {
                let help = "write let feed = circuit(#{ ... }); and then test(feed);".to_owned();
                faults.report(position, "this circuit has no name to be tested by", Some(help));
            }
        }
    }
}

/// Reports what a module does besides defining: it is evaluated before any question, so that would be out of order.
pub(super) fn module(ast: &AST, faults: &mut Faults<'_>) {
    for statement in ast.statements() {
        let is_quiet =
            matches!(statement, Stmt::Noop(_) | Stmt::Import(..) | Stmt::Export(..) | Stmt::Var(..));
        if !is_quiet {
            let help =
                "put it into a function, fn name() { ... }, and call that from the procedure".to_owned();
            faults.report(statement.position(), "a module holds functions and constants only", Some(help));
        }
    }
    let mut top = ast.clone();
    top.clear_functions();
    no_words(faults, |on_node| top.walk(on_node));
}

/// Reports the words in something that is evaluated before the procedure begins.
fn no_words(faults: &mut Faults<'_>, walk: impl FnOnce(&mut dyn FnMut(&[ASTNode<'_>]) -> bool) -> bool) {
    let mut found = Vec::new();
    walk(&mut |path: &[ASTNode<'_>]| {
        let words =
            call(path).filter(|(call, _)| call.namespace.is_empty() && word_named(&call.name).is_some());
        found.extend(words.map(|(call, position)| (call.name.to_string(), position)));
        true
    });
    for (name, position) in found {
        let help = "put it into a function, and call that after procedure(...)".to_owned();
        faults.report(position, format!("{name} would happen before the procedure begins"), Some(help));
    }
}

fn title_of(statement: &Stmt) -> &[Expr] {
    match statement {
        Stmt::FnCall(call, _) => &call.args,
        Stmt::Expr(expression) => match &**expression {
            Expr::FnCall(call, _) => &call.args,
            _ => &[],
        },
        _ => &[],
    }
}

/// Returns the function that a statement calls and nothing else.
fn called(statement: &Stmt) -> Option<(&str, Position)> {
    match statement {
        Stmt::FnCall(call, position) => Some((call.name.as_str(), *position)),
        Stmt::Expr(expression) => called_by(expression),
        _ => None,
    }
}

fn called_by(expression: &Expr) -> Option<(&str, Position)> {
    match expression {
        Expr::FnCall(call, position) => Some((call.name.as_str(), *position)),
        _ => None,
    }
}

/// Returns whether a circuit's name stands in quotes where it is tested, `test("feed")`: that is told there.
fn is_tested_as_text(ast: &AST, name: &str) -> bool {
    let mut is_tested = false;
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        is_tested |= super::call(path).is_some_and(|(call, _)| {
            call.name == "test"
                && matches!(call.args.first(), Some(Expr::StringConstant(text, _)) if text.as_str() == name)
        });
        !is_tested
    });
    is_tested
}
