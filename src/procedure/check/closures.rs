use rhai::{AST, ASTNode, Expr, FnCallExpr, FnPtr, Position, Stmt};

use super::{Faults, call};

/// Words and functions that call a closure and are done with it.
const CALL_CLOSURES: &[&str] =
    &["test", "map", "filter", "find", "some", "all", "reduce", "for_each", "index_of", "retain"];

/// Reports closures that could keep more than any limit sees, and numbers that are none.
///
/// A closure that uses variables from around it keeps their values as long as it lives itself. One for each turn of a
/// loop or each call of a function, put into a list, could keep any amount; at the top level there are no more of them
/// than the text has.
pub(super) fn check(ast: &AST, faults: &mut Faults<'_>) {
    let mut found = Vec::new();
    let (top, functions) = (ast.clone_statements_only(), ast.clone_functions_only());
    for (part, is_top) in [(&top, true), (&functions, false)] {
        part.walk(&mut |path: &[ASTNode<'_>]| {
            let is_once = is_top && !path.iter().any(is_loop);
            if let Some(position) = kept_closure(path).filter(|_| !is_once) {
                let help = "write it inside the brackets of test, map, filter or the like, or make it a function: \
                            fn steps(t) { ... }";
                found.push((position, "a closure that uses variables from around it can't be kept here", help));
            }
            if let Some(ASTNode::Expr(Expr::FloatConstant(number, position))) = path.last()
                && !number.is_finite()
            {
                found.push((*position, "this number is too large", "write a smaller one"));
            }
            true
        });
    }
    for (position, message, help) in found {
        faults.report(position, message, help.to_owned());
    }
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
