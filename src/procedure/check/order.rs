use rhai::{AST, ASTNode, Expr, FnCallExpr, FnPtr, Position, Stmt};

use super::super::language::word_named;
use super::super::syntax::tokens;
use super::{Callable, FileCheck, call, visit};

const BEGIN: &str = "begin with procedure(#{ title: \"...\", version: \"1.0.0\" });";

/// Words and functions that call a closure and are done with it.
const CALL_CLOSURES: &[&str] =
    &["test", "map", "filter", "find", "some", "all", "reduce", "for_each", "index_of", "retain"];

impl FileCheck<'_> {
    /// Reports the functions of a file that have the name of a word, which they would hide.
    pub(super) fn hidden_words(&mut self, words: &Callable) {
        let tokens = tokens(self.mended.text());
        for function in self.ast.iter_functions().filter(|function| words.is_taken(function.name)) {
            // A function of one type is `fn type.name()`.
            let place = tokens.iter().enumerate().find(|(n, token)| {
                let before = |back: usize| n.checked_sub(back).and_then(|at| tokens.get(at));
                let behind_fn = |back| before(back).is_some_and(|token| token.is("fn"));
                let behind_point = before(1).is_some_and(|token| token.is("."));
                token.is(function.name) && (behind_fn(1) || behind_point && behind_fn(3))
            });
            self.report(
                place.map_or(Position::NONE, |(_, token)| token.position()),
                format!("\"{}\" is a word of the language and can't be defined again", function.name),
                "choose another name for the function",
            );
        }
    }

    /// Reports each `return` outside a function: it would end the procedure early and leave a unit that looks finished.
    pub(super) fn no_return(&mut self) {
        visit(&self.ast.clone_statements_only(), |path| {
            if let Some(ASTNode::Stmt(Stmt::Return(_, flags, position))) = path.last() {
                let (message, help) = match flags.intersects(rhai::ASTFlags::BREAK) {
                    true => (
                        "throw would stop the session in the middle",
                        "say what is wrong with finding(\"...\"), and put the rest into else { ... }",
                    ),
                    false => (
                        "return here would end the procedure early, as if the unit were finished",
                        "use if ... else ... around the steps, or put them in a function",
                    ),
                };
                self.report(*position, message, help);
            }
        });
    }

    /// Reports a procedure that does not begin with its title, or has a second one.
    pub(super) fn opening(&mut self) {
        let mut n_titles = 0;
        for statement in self.ast.statements() {
            let is_quiet = matches!(statement, Stmt::Noop(_) | Stmt::Import(..));
            if let Some((title, _)) = called(statement).filter(|(call, _)| call.name == "procedure") {
                n_titles += 1;
                for argument in &title.args {
                    self.no_words(|on_node| argument.walk(&mut Vec::new(), on_node));
                }
                if n_titles == 2 {
                    self.report(statement.position(), "procedure(...) stands once", "keep one, at the top");
                }
            } else if !is_quiet && n_titles == 0 {
                n_titles = 1;
                self.report(statement.position(), "a procedure says first what it is", BEGIN);
            }
        }
        if n_titles == 0 {
            self.report(Position::new(1, 1), "there is nothing in this procedure", BEGIN);
        }
    }

    /// Reports the circuits that are described and never used again.
    pub(super) fn untested(&mut self) {
        let is_circuit = |(call, _): &(&FnCallExpr, Position)| call.name == "circuit";
        visit(self.ast, |path| match path.last() {
            Some(ASTNode::Stmt(Stmt::Var(parts, ..)))
                if called_by(&parts.1).is_some_and(|call| is_circuit(&call))
                    && !is_used(self.ast, &parts.0.name) =>
            {
                let name = &parts.0.name;
                let message = format!("the circuit \"{name}\" is never tested");
                self.report(parts.0.pos, message, format!("test it with test({name});"));
            }
            Some(ASTNode::Stmt(statement)) if path.len() == 1 => {
                if let Some((_, position)) = called(statement).filter(is_circuit) {
                    let help = "write let feed = circuit(#{ ... }); and then test(feed);";
                    self.report(position, "this circuit has no name to be tested by", help);
                }
            }
            _ => {}
        });
    }

    /// Reports what a module does besides defining: it is evaluated before any question, so that would be out of order.
    pub(super) fn module(&mut self) {
        for statement in self.ast.statements() {
            let is_quiet =
                matches!(statement, Stmt::Noop(_) | Stmt::Import(..) | Stmt::Export(..) | Stmt::Var(..));
            if !is_quiet {
                let help = "put it into a function, fn name() { ... }, and call that from the procedure";
                self.report(statement.position(), "a module holds functions and constants only", help);
            }
        }
        let top = self.ast.clone_statements_only();
        self.no_words(|on_node| top.walk(on_node));
    }

    /// Reports the words in something that is evaluated before the procedure begins.
    fn no_words(&mut self, walk: impl FnOnce(&mut dyn FnMut(&[ASTNode<'_>]) -> bool) -> bool) {
        walk(&mut |path: &[ASTNode<'_>]| {
            let called = call(path).filter(|(call, _)| call.namespace.is_empty());
            if let Some((word, position)) = called.and_then(|(call, at)| Some((word_named(&call.name)?, at)))
            {
                let help = "put it into a function, and call that after procedure(...)";
                self.report(
                    position,
                    format!("{} would happen before the procedure begins", word.name),
                    help,
                );
            }
            true
        });
    }

    /// Reports closures that could keep more than any limit sees, and numbers that are none.
    ///
    /// A closure that uses variables from around it keeps their values as long as it lives itself. One for each turn of
    /// a loop or each call of a function, put into a list, could keep any amount; at the top level there are no more of
    /// them than the text has.
    pub(super) fn kept_closures(&mut self) {
        let (top, functions) = (self.ast.clone_statements_only(), self.ast.clone_functions_only());
        for (part, is_top) in [(&top, true), (&functions, false)] {
            visit(part, |path| {
                let is_once = is_top && !path.iter().any(is_loop);
                if let Some(position) = kept_closure(path).filter(|_| !is_once) {
                    let help = "write it inside the brackets of test, map, filter or the like, or make it a function: \
                            fn steps(t) { ... }";
                    let message = "a closure that uses variables from around it can't be kept here";
                    self.report(position, message, help);
                }
                if let Some(ASTNode::Expr(Expr::FloatConstant(number, position))) = path.last()
                    && !number.is_finite()
                {
                    self.report(*position, "this number is too large", "write a smaller one");
                }
            });
        }
    }
}

/// Returns the call that a statement is and nothing else.
fn called(statement: &Stmt) -> Option<(&FnCallExpr, Position)> {
    match statement {
        Stmt::FnCall(call, position) => Some((call, *position)),
        Stmt::Expr(expression) => called_by(expression),
        _ => None,
    }
}

fn called_by(expression: &Expr) -> Option<(&FnCallExpr, Position)> {
    match expression {
        Expr::FnCall(call, position) => Some((call, *position)),
        _ => None,
    }
}

/// Returns whether the name of a circuit is used anywhere, be it in quotes where it is tested,
/// `test("feed")`: that is told there.
fn is_used(ast: &AST, name: &str) -> bool {
    let is_text =
        |expression: &Expr| matches!(expression, Expr::StringConstant(text, _) if text.as_str() == name);
    let mut is_used = false;
    visit(ast, |path| {
        is_used |= match path.last() {
            Some(ASTNode::Expr(Expr::Variable(variable, ..))) => variable.1 == name,
            Some(ASTNode::Stmt(Stmt::Share(names))) => names.iter().any(|(shared, _)| shared.name == name),
            _ => call(path)
                .is_some_and(|(call, _)| call.name == "test" && call.args.first().is_some_and(is_text)),
        };
    });
    is_used
}

/// Returns whether a call is an operator or one that the parser made to bind a closure's variables.
pub(super) fn is_internal(call: &FnCallExpr, path: &[ASTNode<'_>]) -> bool {
    call.op_token.is_some()
        || call.name == "curry" && path.iter().rev().take(3).any(|node| is_sharing_block(node))
}

/// Returns the place of a closure that uses variables from around it and is not an argument of something that calls it
/// and is done with it.
fn kept_closure(path: &[ASTNode<'_>]) -> Option<Position> {
    let position = match path.last()? {
        ASTNode::Expr(Expr::DynamicConstant(value, position))
            if value.read_lock::<FnPtr>().is_some_and(|closure| closure.is_anonymous()) =>
        {
            *position
        }
        _ => return None,
    };
    // Such a closure is wrapped: a block that shares the variables, in it a call that binds them.
    let around = &path[..path.len() - 1];
    let block = around.iter().rposition(is_sharing_block)?;
    let is_wrapped = around[block + 1..].iter().all(is_binding);
    let user = around[..block].last().and_then(|node| call(std::slice::from_ref(node)));
    let is_done_with = user.is_some_and(|(user, _)| CALL_CLOSURES.contains(&user.name.as_str()));
    (is_wrapped && !is_done_with).then_some(position)
}

fn is_binding(node: &ASTNode<'_>) -> bool {
    match node {
        ASTNode::Expr(Expr::FnCall(call, _)) | ASTNode::Stmt(Stmt::FnCall(call, _)) => call.name == "curry",
        node => matches!(node, ASTNode::Stmt(Stmt::Expr(_))),
    }
}

fn is_sharing_block(node: &ASTNode<'_>) -> bool {
    matches!(node, ASTNode::Expr(Expr::Stmt(block)) if matches!(block.iter().next(), Some(Stmt::Share(_))))
}

fn is_loop(node: &ASTNode<'_>) -> bool {
    matches!(node, ASTNode::Stmt(Stmt::For(..) | Stmt::While(..) | Stmt::Do(..)))
}
